"""What should be true of the piece, and how suspicious is the gap?"""
