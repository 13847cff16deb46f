"""Floor 3: drawings of fixed parts (CSV, DXF, SVG) read into closed outlines."""
