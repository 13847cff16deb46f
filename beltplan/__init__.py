"""Plans accessory drive belt routing: layout in, belt length, wraps, findings and picture out."""

__version__ = "0.1.0"
