"""Floor 6: pictures. A scene says what is drawn, a painter draws it; matplotlib is known to the painter alone."""
