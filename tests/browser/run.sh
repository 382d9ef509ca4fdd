#!/usr/bin/env bash
# The report and the served page in Debian's chromium, driven by playwright-core, checked by axe-core.
# Installs what is missing: chromium by apt-get (as root), the two npm packages beside this file. Takes the program from
# target/release, built if need be. Pictures go into out/ beside this file.
set -euo pipefail
here="$(cd "$(dirname "$0")" && pwd)"
root="$(cd "$here/../.." && pwd)"

if ! command -v chromium > /dev/null; then
  apt-get update -q && apt-get install -qy --no-install-recommends chromium
fi
if ! command -v npm > /dev/null; then
  apt-get update -q && apt-get install -qy --no-install-recommends nodejs npm
fi
[ -d "$here/node_modules/axe-core" ] || (cd "$here" && npm install --no-audit --no-fund)
(cd "$root" && cargo build --release --bin doughwright)
program="$root/target/release/doughwright"

work="$(mktemp -d)"
served=()
finish() {
  for id in "${served[@]}"; do kill -INT "$id" 2> /dev/null || true; done
  rm -rf "$work"
}
trap finish EXIT

"$program" demo --out "$work/demo" > "$work/demo.txt" 2>&1
"$program" --logbook "$work/demo/logbook.db" --units us report --out "$work/us.html" > "$work/us.txt"

# Serves with these words; the address is left in $address.
serve() {
  "$program" --logbook "$work/demo/logbook.db" serve "$@" > "$work/address" 2>> "$work/served.txt" &
  served+=($!)
  for _ in $(seq 100); do
    address="$(sed -n 's/^open //p' "$work/address")"
    if [ -n "$address" ]; then return; fi
    sleep 0.1
  done
  echo "the page did not start" >&2
  cat "$work/served.txt" >&2
  exit 1
}
serve --write; write="$address"
serve; read="$address"
serve --write --units us; us="$address"

rm -rf "$here/out"
node "$here/check.mjs" "$here/out" "$(command -v chromium)" "report=file://$work/demo/report.html" "us=file://$work/us.html" \
  "write=$write" "read=$read" "serve_us=$us"
