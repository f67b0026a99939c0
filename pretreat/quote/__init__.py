"""What the site uses up, what is replaced, and what it costs."""
