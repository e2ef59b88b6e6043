"""`python -m mamelon.practice`: the verbs `case …`, `follow` and `tabs align` of the command."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from typing import Any, NoReturn

from mamelon import _core
from mamelon.practice import align_verb, case_verbs, follow_verb
from mamelon.study.__main__ import EXIT


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one sentence, as the command does."""

    def error(self, message: str) -> NoReturn:
        raise _core.ArgumentError(f"{message} (see {self.prog} --help)")


Verb = Callable[[argparse.Namespace], tuple[str, Any, int]]


def parser(prog: str = "mamelon") -> argparse.ArgumentParser:
    """All verbs with their options."""
    made = _Parser(prog=prog, description=__doc__)
    verbs = made.add_subparsers(dest="verb", required=True)
    case = verbs.add_parser("case", help="A practice's cases: kept, checked, learnt from")
    case_verbs.add_to(case.add_subparsers(dest="what", required=True))
    follow_verb.add_to(verbs)
    tabs = verbs.add_parser("tabs", help="Instruments in line")
    align_verb.add_to(tabs.add_subparsers(dest="what", required=True))
    return made


def main(argv: Sequence[str] | None = None) -> int:
    """The command; returns its exit code."""
    try:
        arguments = parser().parse_args(argv)
        run: Verb = arguments.run
        text, document, code = run(arguments)
        if arguments.json:
            print(json.dumps(document, ensure_ascii=False, allow_nan=False))
        else:
            print(text)
        return code
    except ImportError as error:
        print(f"mamelon: this verb needs a package that is not installed: {error}", file=sys.stderr)
        return 6
    except KeyboardInterrupt:
        print("mamelon: interrupted; nothing was left half written", file=sys.stderr)
        return 130
    except (_core.Error, OSError) as error:
        print(f"mamelon: {' '.join(str(error).split())}", file=sys.stderr)
        return next(code for kind, code in EXIT if isinstance(error, kind))


if __name__ == "__main__":
    sys.exit(main())
