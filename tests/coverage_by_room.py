"""Lines run by the tests, by room: reads what tests/coverage.sh has built and counted.

A line counts when rustc says that it holds code; the unit tests that stand in a room's files do not.
"""

import json
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
TESTS = re.compile(r"^#\[cfg\(test\)\]\s*\n(?:#\[.*\]\s*\n)*mod (\w+)\s*([{;])", re.MULTILINE)


def unit_tests(path):
    """The first line of a file's unit tests (which stand at its end), and the file in which they stand otherwise."""
    found = TESTS.search(path.read_text())
    if not found:
        return None, None
    first = path.read_text()[: found.start()].count("\n") + 1
    beside = path.parent if path.stem == "mod" else path.parent / path.stem
    return (first, None) if found[2] == "{" else (None, beside / f"{found[1]}.rs")


def counts(llvm_cov, folder):
    """Counts by file and line, over all programs that were built."""
    built = [json.loads(line) for line in (folder / "built.json").read_text().splitlines()]
    programs = sorted({b["executable"] for b in built if b.get("executable")})
    objects = [part for program in programs for part in ("-object", program)][1:]
    command = [llvm_cov, "export", "-format=lcov", "-instr-profile", folder / "counts.profdata", *objects]
    lines, path = {}, None
    for line in subprocess.run(command, check=True, capture_output=True, text=True).stdout.splitlines():
        if line.startswith("SF:"):
            path = pathlib.Path(line[3:])
        elif line.startswith("DA:"):
            number, count = line[3:].split(",")[:2]
            file = lines.setdefault(path, {})
            file[int(number)] = max(file.get(int(number), 0), int(count))
    return lines


def main():
    llvm_cov, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    sources = ROOT / "src"
    marked = {path: unit_tests(path) for path in sources.rglob("*.rs")}
    beside = {file for _, file in marked.values() if file}
    rooms, missed = {}, []
    for path, lines in sorted(counts(llvm_cov, folder).items()):
        if sources not in path.parents or path in beside:
            continue
        first = marked[path][0]
        own = {n: c for n, c in lines.items() if first is None or n < first}
        room = path.relative_to(sources).parts[0]
        run = sum(c > 0 for c in own.values())
        before = rooms.get(room, (0, 0))
        rooms[room] = (before[0] + run, before[1] + len(own))
        not_run = [n for n, c in sorted(own.items()) if c == 0]
        if not_run:
            missed.append((path.relative_to(ROOT), run, len(own), not_run))
    (folder / "missed.txt").write_text(
        "".join(f"{p}: {run} of {all}, not run: {' '.join(map(str, n))}\n" for p, run, all, n in missed)
    )
    print(f"{'room':<14}{'lines run':>10}{'of':>8}{'share':>9}")
    for room, (run, all) in rooms.items():
        print(f"{room:<14}{run:>10}{all:>8}{100 * run / max(all, 1):>8.1f}%")
    print(f"lines not run, by file: {folder / 'missed.txt'}")


main()
