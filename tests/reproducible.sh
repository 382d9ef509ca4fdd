#!/usr/bin/env bash
# Is the same program built from the same source in another folder? The source as committed is laid out in two folders, our
# own crate is built in each with the folders' names mapped away, and the two programs are compared byte by byte.
#
#   tests/reproducible.sh [TARGET]
#
# TARGET is a target folder with the dependencies built already under the same flags; it is copied to both places, so that
# only our own crate is compiled twice (what is then shown is that it does not depend on its folder). Without it everything
# is compiled twice, which shows the same for the dependencies and takes an hour on two cores.
set -euo pipefail
root=$(cd "$(dirname "$0")/.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

export CARGO_INCREMENTAL=0 # what was compiled before must not matter
# For our own crate alone, so that the dependencies keep their flags: they lie in cargo's own folder both times.
cat > "$work/map-folder" <<'WRAPPER'
#!/bin/sh
exec "$@" --remap-path-prefix="$PWD=/doughwright"
WRAPPER
chmod +x "$work/map-folder"
export RUSTC_WORKSPACE_WRAPPER=$work/map-folder
for place in one another/deeper/place; do
    mkdir -p "$work/$place"
    git -C "$root" archive HEAD | tar -x -C "$work/$place"
    [ $# -eq 0 ] || cp -a --reflink=auto "$1" "$work/$place/target"
    (cd "$work/$place" && cargo build --release --locked --bin doughwright)
    sha256sum "$work/$place/target/release/doughwright" | cut -d' ' -f1 >> "$work/hashes"
done
cat "$work/hashes"
if [ "$(sort -u "$work/hashes" | wc -l)" -eq 1 ]; then
    echo "the same program from both folders"
else
    echo "the programs differ" >&2
    exit 1
fi
