"""Doxygen's input filter: says to Doxygen what a reader of a header sees.

`python field_meanings.py HEADER` prints the header with two things made plain. A value is described
once, in the list of fields beside its struct: meaning, unit and range are put behind the member.
And a comment above several functions or constants holds for all of them, up to a blank line.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

BLOCK = re.compile(r"^template <>\nstruct Fields<(?P<type>\w+)> \{\n(?P<body>.*?)^\};", re.M | re.S)
FIELD = re.compile(
    r'(?:field|needed)\(\s*"(?P<name>\w+)",\s*&\w+::(?P<member>\w+),\s*'
    r'(?P<meaning>(?:"(?:[^"\\]|\\.)*"\s*)+)\)'
    r"(?P<rules>(?:\s*\.\w+\([^()]*\))*)"
)
STRUCT = re.compile(r"^(?:struct|class) (?P<type>\w+)[^;{]*\{\n(?P<body>.*?)^\};", re.M | re.S)
MEMBER = re.compile(r"^  [\w:<>, ]+?\s(?P<member>\w+)(?: = [^;]+| ?\{[^;]*\})?;(?P<after>.*)$")


def range_in_words(rules: str) -> str:
    """`.in("mm").above(0, 20)` as `, in mm, more than 0, at most 20`."""
    words = ""
    for name, text in re.findall(r"\.(\w+)\(([^()]*)\)", rules):
        given = [part.strip().strip('"') for part in text.split(",")]
        if name == "in":
            words += f", in {given[0]}"
        elif name == "range":
            words += f", {given[0]} to {given[1]}".replace("no_limit", "any")
        elif name == "above":
            words += f", more than {given[0]}" + (f", at most {given[1]}" if len(given) > 1 else "")
        elif name == "items":
            words += f", {given[0]} to {given[1]} items"
    return words


def meanings(text: str, key: str = "member") -> dict[str, dict[str, str]]:
    """What each type's list of fields says, by type and `member`, or `name` as in Python."""
    found: dict[str, dict[str, str]] = {}
    for block in BLOCK.finditer(text):
        members = found.setdefault(block["type"], {})
        for one in FIELD.finditer(block["body"]):
            said = "".join(re.findall(r'"((?:[^"\\]|\\.)*)"', one["meaning"]))
            members[one[key]] = said + range_in_words(one["rules"])
    return found


DECLARED = re.compile(
    r"^(\[\[nodiscard\]\] |inline constexpr |using |constexpr |void |template <[^{]*> )"
)


def shared(text: str) -> str:
    """The header with a comment repeated above each declaration that it stands above."""
    comment: list[str] = []
    lines: list[str] = []
    fresh = False
    for line in text.split("\n"):
        if line.startswith("/// "):
            comment = [*comment, line] if fresh else [line]
            fresh = True
        elif not line or line.startswith(("}", "struct", "class", "enum", "#")):
            comment, fresh = [], False
        elif DECLARED.match(line):
            if not fresh and "///<" not in line:
                lines += comment
            fresh = False
        else:
            fresh = False
        lines.append(line)
    return "\n".join(lines)


def described(text: str) -> str:
    """The header with each member's meaning behind it, where it has no comment of its own."""
    by_type = meanings(text)

    def mend(struct: re.Match[str]) -> str:
        said = by_type.get(struct["type"], {})
        lines = struct[0].split("\n")
        for number, line in enumerate(lines):
            member = MEMBER.match(line)
            if member and "///" not in member["after"] and member["member"] in said:
                before = lines[number - 1].strip()
                mark = "///<" if not before.startswith("///") or "///<" in before else None
                if mark:
                    lines[number] = f"{line} {mark} {said[member['member']]}"
        return "\n".join(lines)

    text = re.sub(r"^extern template [^;]*;", "", text, flags=re.M)
    text = re.sub(
        r"^(  friend bool operator==\(.*\) = default;)$",
        r"\1  ///< In all of it.",
        text,
        flags=re.M,
    )
    return shared(STRUCT.sub(mend, text))


if __name__ == "__main__":
    sys.stdout.write(described(Path(sys.argv[1]).read_text(encoding="utf-8")))
