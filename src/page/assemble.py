"""Puts the compiled core, its loader, the texts, the style and the script into one file.

assemble.py LOADER.js CORE.wasm DATA_FOLDER OUT.html
"""

import base64
import gzip
import hashlib
import json
import sys
from pathlib import Path

HERE = Path(__file__).parent
SCRIPTS = [
    "texts.js", "elements.js", "core.js", "state.js", "photo_view.js", "view_first.js",
    "view_tooth.js", "view_shade.js", "view_cavity.js", "view_chair.js", "view_try_in.js",
    "view_record.js", "view_bench.js", "app.js",
]  # fmt: skip


def main() -> None:
    loader, core, data, out = (Path(argument) for argument in sys.argv[1:5])
    script = '"use strict";\n' + "\n".join(
        (HERE / name).read_text(encoding="utf-8") for name in SCRIPTS
    )
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    # Nothing may be fetched, sent, embedded or framed but what the page itself made.
    policy = (
        f"default-src 'none'; script-src 'sha256-{digest}' 'wasm-unsafe-eval'; worker-src blob:; "
        "style-src 'unsafe-inline'; img-src data: blob:; form-action 'none'; base-uri 'none'"
    )
    demo = {
        "card": (data / "cards/tooth20_frame.json").read_text(encoding="utf-8"),
        "tabs": (data / "tabs/orchard16.json").read_text(encoding="utf-8"),
        "pastes": (data / "pastes/orchard10.json").read_text(encoding="utf-8"),
        "photo": base64.b64encode((data / "photos/front_teeth.jpg").read_bytes()).decode(),
    }
    # mtime 0: the same input gives the same bytes.
    packed = base64.b64encode(gzip.compress(core.read_bytes(), 9, mtime=0)).decode()
    worker = loader.read_text(encoding="utf-8") + "\n" + (HERE / "worker.js").read_text("utf-8")
    parts = {
        "policy": policy,
        "style": (HERE / "style.css").read_text(encoding="utf-8"),
        "core": packed,
        "loader": worker,
        "demo": json.dumps(demo).replace("<", "\\u003c"),
        "script": script,
    }
    for name in ("loader", "script"):
        if "</script" in parts[name].lower():
            sys.exit(f"assemble.py: the {name} holds the end of a script element")
    page = (HERE / "page.html").read_text(encoding="utf-8")
    for name, value in parts.items():
        page = page.replace("{{" + name + "}}", value)
    out.write_text(page, encoding="utf-8")
    print(f"{out}: {out.stat().st_size / 2**20:.2f} MiB")


main()
