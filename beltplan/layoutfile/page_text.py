"""A page that `beltplan page` wrote, as a layout file: how it is known, and the layout's text in it."""

from __future__ import annotations

from html import unescape

FIRST_LINE = "<!DOCTYPE html><!-- beltplan page: this file can be read as a layout -->"
LAYOUT_ID = "layout-file"
"""Of the element that holds the layout's text, escaped."""
BEGIN, _END = f'<pre id="{LAYOUT_ID}">', "</pre>"


def text_in_page(text: str) -> str:
    """The text of the layout file in a page; any other text is one itself.

    >>> text_in_page(f'{FIRST_LINE}<p>a &lt;pre></p><pre id="layout-file">title: &lt;b&gt; &amp;amp;</pre>')
    'title: <b> &amp;'
    """
    if not text.startswith(FIRST_LINE):
        return text
    return unescape(text.partition(BEGIN)[2].partition(_END)[0])
