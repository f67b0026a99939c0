"""What makes the pages of the documentation that are not written by hand.

``hook`` is what mkdocs calls; each other module returns Markdown from the laws, the data and
the studies of the demo sites, so that no page repeats a number that the program holds.
"""
