"""A generator of saved marketplace pages with known content, for measuring the page readers."""
