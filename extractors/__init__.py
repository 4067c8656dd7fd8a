"""What does the listing say? Text and photos in, evidence out."""
