"""The page of validation, ../docs/validation.md: the tables that the notebooks leave in out/, between two marks.

    python validation.py            writes the tables into the page
    python validation.py --check    fails when the page's quantities, references, sources or verdicts are not theirs

What stands about the marks is written by hand. Figures of this program and differences may hang on chance or on the
machine, so that `--check` does not compare them.
"""

import json
import sys
from pathlib import Path

HERE = Path(__file__).parent
PAGE = HERE.parent / "docs" / "validation.md"
BEGIN, END = "<!-- tables: made by notebooks/validation.py -->\n", "<!-- end of tables -->\n"
COLUMNS = ("quantity", "here", "reference", "asked", "source", "difference", "verdict")
MAY_DIFFER = ("here", "difference")


def shown(value):
    """A cell's text."""
    if value is None:
        return ""
    text = f"{value:.6g}" if isinstance(value, float) else str(value)
    return text.replace("|", "\\|").replace("\n", " ")


def line(cells):
    return f"| {' | '.join(cells)} |\n"


def heading(notebook):
    """The first heading of a notebook."""
    cells = json.loads((HERE / f"{notebook}.ipynb").read_text())["cells"]
    return "".join(cells[0]["source"]).splitlines()[0].removeprefix("# ")


def made():
    """All tables, in the order of the notebooks."""
    text = ""
    for notebook in sorted(path.stem for path in HERE.glob("*.ipynb")):
        left = HERE / "out" / f"{notebook}.json"
        if not left.exists():
            sys.exit(f"{notebook}.ipynb has left no table in out/: run it first (`python3.11 notebooks/run.py`)")
        text += f"\n### {heading(notebook)} (`{notebook}.ipynb`)\n\n" + line(COLUMNS) + line(["---"] * len(COLUMNS))
        for row in json.loads(left.read_text()):
            text += line(shown(row[name]) for name in COLUMNS)
    return text + "\n"


def held(tables):
    """Of tables, what must not differ, row by row."""
    fixed = [i for i, name in enumerate(COLUMNS) if name not in MAY_DIFFER]
    for text in tables.splitlines():
        if text.startswith("| "):
            cells = text.removeprefix("| ").removesuffix(" |").split(" | ")
            yield tuple(cells[i] for i in fixed if i < len(cells))


def parts():
    """What stands before, between and after the marks."""
    before, rest = PAGE.read_text().split(BEGIN)
    between, after = rest.split(END)
    return before + BEGIN, between, END + after


def main(check):
    before, between, after = parts()
    tables = made()
    if not check:
        PAGE.write_text(before + tables + after)
        return
    there, here = list(held(between)), list(held(tables))
    missing, new = [r for r in here if r not in there], [r for r in there if r not in here]
    for row in missing:
        print(f"not on the page: {row}")
    for row in new:
        print(f"on the page alone: {row}")
    if missing or new:
        sys.exit("docs/validation.md is not what the tables say: run `python notebooks/validation.py`, read the difference")


if __name__ == "__main__":
    main("--check" in sys.argv[1:])
