"""Checks that every link within a folder of HTML pages leads to a page and a place in it.

`python check_links.py FOLDER`. Links that leave the folder are counted, not followed.
"""

from __future__ import annotations

import sys
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit


class Page(HTMLParser):
    """What one page links to, and the places it has."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: set[str] = set()
        self.places: set[str] = set()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Notes one tag's links and its place."""
        for name, value in attrs:
            if name in ("href", "src") and value:
                self.links.add(value)
            elif name == "id" or (tag == "a" and name == "name"):
                self.places.add(value or "")


def broken_links(folder: Path) -> tuple[list[str], int, int]:
    """A sentence for each link that leads nowhere; how many lead within, and out of, the folder."""
    pages = {
        path.resolve(): Page(path.read_text(encoding="utf-8", errors="replace"))
        for path in sorted(folder.rglob("*.html"))
    }
    broken, within, out = [], 0, 0
    for path, page in pages.items():
        for link in sorted(page.links):
            parts = urlsplit(link)
            if parts.scheme or parts.netloc:
                out += parts.scheme in ("http", "https")
                continue
            within += 1
            target = (path.parent / unquote(parts.path)).resolve() if parts.path else path
            if target.is_dir():
                target /= "index.html"
            place = unquote(parts.fragment)
            if not target.exists():
                broken.append(f"{path.relative_to(folder.resolve())}: {link}: no such file")
            elif place and target in pages and place not in pages[target].places:
                broken.append(f"{path.relative_to(folder.resolve())}: {link}: no such place")
    return broken, within, out


if __name__ == "__main__":
    found, inside, outside = broken_links(Path(sys.argv[1]))
    print(f"{inside} links within, {len(found)} broken; {outside} lead elsewhere")
    sys.exit("\n".join(found) or 0)
