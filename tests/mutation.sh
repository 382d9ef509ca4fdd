#!/usr/bin/env bash
# Mutation testing of one room, physics or consistency: changes its code in one place after another and looks whether a test
# notices. The whole crate takes minutes to build, so a small tree is made of what the room and its tests need.
#
#   tests/mutation.sh physics                       every mutant (hours)
#   tests/mutation.sh consistency --shard 0/4 --sharding round-robin      every fourth
#   tests/mutation.sh consistency --only-tests      its tests as they are
#   tests/mutation.sh consistency --lines --lib --test reference    which of its lines those tests run (see coverage.sh)
#
# What follows the room goes to `cargo mutants` (cargo install cargo-mutants --locked). The outcome is in the folder that is
# named at the end. Where things are built: MUTATION_DIR, else the usual folder for temporary files.
set -euo pipefail
cd "$(dirname "$0")/.."
room=${1:?physics or consistency}
shift

common="jiff libm nalgebra rand rand_chacha rand_distr schemars serde statrs strsim thiserror"
case $room in
    # The gradient of the log posterior against a second derivation is the strictest check of physics: of inference, its modules.
    physics)
        rooms="dough physics inference simulate"
        laws="beliefs cases gradient kitchen physics second stage"
        references="composition cooling gas habits heat rate rise"
        inference="beliefs drift fit forecast layout left_out likelihood lots posterior prepare priors psis rows student verdict"
        datasets="scipy"
        packages="$common pulp rayon"
        for_tests="csv num-dual proptest serde_json" ;;
    consistency)
        rooms="dough consistency"
        references="control_charts"
        datasets="control-charts"
        packages="$common"
        for_tests="csv serde_json" ;;
    *)
        echo "no tests are known for room $room" >&2
        exit 2 ;;
esac
dir=${MUTATION_DIR:-${TMPDIR:-/tmp}}/doughwright-mutants-$room
tree=$dir/tree
mkdir -p "$dir"
rm -rf "$tree"
mkdir -p "$tree/src" "$tree/tests" "$tree/datasets"
for r in $rooms; do
    cp -r "src/$r" "$tree/src/"
    echo "pub mod $r;" >> "$tree/src/lib.rs"
done
for d in $datasets; do cp -r "datasets/$d" "$tree/datasets/"; done

# only MODULES FILE: of all modules that the file declares, these alone stay.
only() { sed -i -E "/^(pub )?mod (${1// /|});/! { /^(pub )?mod [a-z_0-9]+;/d }" "$tree/$2"; }
cp -r tests/reference "$tree/tests/"
only "$references" tests/reference/main.rs
if [ "$room" = consistency ]; then
    # Histories by the thousand take a minute: a suite of their own, run when all others noticed nothing.
    sed -i '/histories/d' "$tree/tests/reference/control_charts.rs"
    mkdir "$tree/tests/slow"
    mv "$tree/tests/reference/control_charts/histories.rs" "$tree/tests/slow/main.rs"
fi
if [ "$room" = physics ]; then
    cp -r tests/laws "$tree/tests/"
    only "$laws" tests/laws/main.rs
    only "$inference" src/inference/mod.rs
    only truth src/simulate/mod.rs
    sed -i -E '/^pub use (bake|kitchen)::/d' "$tree/src/simulate/mod.rs"
fi

# wanted NAMES: their lines in the manifest, so that versions and features are the same.
wanted() { for p in $1; do grep -E "^$p = " Cargo.toml | head -1; done; }
{
    printf '[package]\nname = "doughwright"\nversion = "0.1.0"\nedition = "2024"\npublish = false\n[workspace]\n'
    printf '[dependencies]\n'
    wanted "$packages"
    printf '[dev-dependencies]\n'
    wanted "$for_tests"
    # Quick to build, and fast enough for tests that draw some thousand histories.
    printf '[profile.dev]\nopt-level = 1\ndebug = false\n[profile.dev.package."*"]\nopt-level = 2\n'
} > "$tree/Cargo.toml"
cp Cargo.lock "$tree/"
cp tests/coverage.sh tests/coverage_by_room.py "$tree/tests/"

cd "$tree"
# The tree is a copy already, so mutants are made in it; dependencies stay compiled from run to run.
export CARGO_INCREMENTAL=1 CARGO_TARGET_DIR=$dir/target
if [ "${1:-}" = --only-tests ]; then exec cargo test; fi
if [ "${1:-}" = --lines ]; then
    shift
    COVERAGE_DIR=$dir/target COVERAGE_DEV=1 exec tests/coverage.sh "$@"
fi
outcome=0
cargo mutants --in-place --output "$dir" --file "src/$room/**" "$@" || outcome=$?
echo "the outcome is in $dir/mutants.out"
exit $outcome
