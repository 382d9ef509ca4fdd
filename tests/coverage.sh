#!/usr/bin/env bash
# Which lines of the crate do the tests run? Builds the crate with rustc's own counters, runs the tests, and says by room how
# many lines were run. Needs `rustup component add llvm-tools` and python3.
#
#   tests/coverage.sh                       all tests (the whole crate is built once more; dependencies are not, where
#                                           COVERAGE_DIR holds a target folder in which they are)
#   tests/coverage.sh --lib --test laws     these alone: what follows goes to `cargo test`
#
# Where things are built: COVERAGE_DIR, else target/coverage.
set -euo pipefail
cd "$(dirname "$0")/.."
dir=${COVERAGE_DIR:-$PWD/target/coverage}
tools=$(rustc --print sysroot)/lib/rustlib/$(rustc -vV | sed -n 's/^host: //p')/bin
if [ ! -x "$tools/llvm-cov" ]; then
    echo "llvm-cov is missing: rustup component add llvm-tools" >&2
    exit 2
fi
mkdir -p "$dir"
rm -rf "$dir/counts"

# Counters in the workspace's own crates only: with them in the dependencies all would be slow. Hardly optimised, as the
# counters forbid most of it; overflow stays unchecked, as in the release.
cat > "$dir/counted" <<'WRAPPER'
#!/bin/sh
exec "$@" -C instrument-coverage -C opt-level=1
WRAPPER
chmod +x "$dir/counted"
export RUSTC_WORKSPACE_WRAPPER=$dir/counted CARGO_TARGET_DIR=$dir CARGO_INCREMENTAL=1
# Build scripts and proc macros write counts as well; every process of a program adds to one of four files.
export LLVM_PROFILE_FILE=$dir/counts/%4m.profraw

# COVERAGE_DEV is set where tests/mutation.sh asks for the lines of its small tree.
profile=(--release)
if [ -n "${COVERAGE_DEV:-}" ]; then profile=(); fi
what=("$@")
if [ ${#what[@]} -eq 0 ]; then what=(--lib --bins --tests); fi
cargo test ${profile[@]+"${profile[@]}"} "${what[@]}" --no-run --message-format=json > "$dir/built.json"
failed=0
cargo test ${profile[@]+"${profile[@]}"} "${what[@]}" --no-fail-fast || failed=$?

"$tools/llvm-profdata" merge -sparse "$dir"/counts/*.profraw -o "$dir/counts.profdata"
python3 tests/coverage_by_room.py "$tools/llvm-cov" "$dir"
exit $failed
