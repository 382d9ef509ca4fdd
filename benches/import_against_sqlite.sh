#!/usr/bin/env bash
# The import of a million invented batches, with every check, against the sqlite3 shell's own `.import` of the same file
# into an untyped table, turn by turn. Needs the sqlite3 shell and GNU time. Usage: benches/import_against_sqlite.sh [ROWS]
set -euo pipefail
cd "$(dirname "$0")/.."
rows=${1:-1000000}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cargo build --release --quiet
cargo run --release --quiet --example many_batches "$rows" > "$folder/many.csv"
for turn in 1 2 3; do
  rm -f "$folder"/*.db*
  /usr/bin/time -f "turn $turn: doughwright %e s, %M kB at most" \
    target/release/doughwright import "$folder/many.csv" --logbook "$folder/logbook.db" > "$folder/said"
  /usr/bin/time -f "turn $turn: sqlite3     %e s" \
    sqlite3 "$folder/plain.db" ".mode csv" ".import $folder/many.csv batches"
done
cat "$folder/said"
