"""A layout's whole answer as one page to hand over: words, drawing and layout file in a single HTML file."""
