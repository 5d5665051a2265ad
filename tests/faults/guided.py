"""The same as `parsers.py`, led by what each input reaches in the code. Needs atheris, which the tests do without.

    cd tests && python -m faults.guided length -runs=200000 faults/corpus/length

What it adds to the corpus is kept where it is short and reaches what nothing else does: `-merge=1 faults/corpus/length found`.
"""

from __future__ import annotations

import sys

import atheris

with atheris.instrument_imports(include=["hearthcalc"]):
    from faults import parsers


def main() -> None:
    target = sys.argv.pop(1)
    if target not in parsers.TARGETS:
        sys.exit(f"One of: {', '.join(parsers.TARGETS)}.")

    def one(data: bytes) -> None:
        parsers.tried(target, data)

    atheris.Setup(sys.argv, one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
