"""Make a drawing fit to stand in a page: own ids, no head, no metadata, text for who can't see it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from html import escape

from markupsafe import Markup

_HEAD = re.compile(r"<\?xml.*?\?>|<!DOCTYPE.*?>|<metadata>.*?</metadata>|<!--.*?-->", re.DOTALL)
_STYLE = re.compile(r"<defs>\s*<style[^>]*>.*?</style>\s*</defs>", re.DOTALL)
_ROOT = re.compile(r"<svg\b[^>]*>", re.DOTALL)
_VIEW = re.compile(r'viewBox="([^"]*)"')


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """A picture ready to stand in the page, with its alternatives for who can't see it."""

    name: str
    title: str
    markup: Markup


def embed(svg: str, *, name: str, title: str, description: str) -> Drawing:
    """Take a program's SVG into the page under ``name``, which starts every id in it.

    The root carries ``role="img"`` and is labelled by a ``<title>`` and a ``<desc>``. ``title`` and
    ``description`` are escaped here; ``svg`` must be our own drawing without user text.
    """
    body = _STYLE.sub("", _HEAD.sub("", svg))
    root = _ROOT.search(body)
    view = _VIEW.search(root.group(0)) if root else None
    if root is None or view is None:
        raise ValueError(f"{name}: not an SVG drawing with a viewBox")
    inner = body[root.end():]
    inner = re.sub(r'\bid="', f'id="{name}-', inner)
    inner = re.sub(r"url\(#", f"url(#{name}-", inner)
    inner = re.sub(r'\b(?:xlink:)?href="#', f'href="#{name}-', inner)
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view.group(1)}" role="img" '
        f'aria-labelledby="{name}-title {name}-desc">'
        f'<title id="{name}-title">{escape(title)}</title><desc id="{name}-desc">{escape(description)}</desc>'
    )
    return Drawing(name=name, title=title, markup=Markup(opening + inner.strip()))
