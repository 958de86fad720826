#!/usr/bin/env bash
# Leads bytes through every reader by what its code does with them, for a bounded time. Usage: fuzz.sh SECONDS [READER…]
#
# SECONDS is the time of each reader; two run at a time. Needs a C++ compiler (the engine is LLVM's libFuzzer) and installs one
# where it is missing. Works with the stable compiler: coverage comes from LLVM's own pass, and there is no unsafe code in
# putby for which more than that would be needed. Begins with tests/fuzz/corpus and writes nothing there: what is new is kept in
# GROWN if that names a folder. SEED is the number that chance begins with, from the clock if it is not given. What takes longer
# than half a minute counts as endless: a short workbook may say of a row that it stands some thousand times, and the machine may
# be busy. Ends with 1 and names the file if a reader broke; put it into tests/found/READER, mend, and it is read by
# `cargo test` from then on.
set -euo pipefail
cd "$(dirname "$0")/../.."
seconds=$1
shift
readers=("$@")
[ ${#readers[@]} -gt 0 ] || readers=(tables settings daily normals workbooks spoken plan)

if ! command -v c++ > /dev/null; then
  { apt-get update && apt-get install -y --no-install-recommends g++; } > /dev/null
fi
host=$(rustc -vV | sed -n 's/^host: //p')
build=${CARGO_TARGET_DIR:-target}/fuzz
RUSTFLAGS="-Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 -Cllvm-args=-sanitizer-coverage-inline-8bit-counters \
  -Cllvm-args=-sanitizer-coverage-pc-table -Cllvm-args=-sanitizer-coverage-trace-compares" \
  cargo build --quiet --release --locked --manifest-path tests/fuzz/Cargo.toml --target "$host" --target-dir "$build"
program=$build/$host/release/readers

scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
grown=${GROWN:-$scratch/grown}
broken=${BROKEN:-$(mktemp -d)}

one() { # READER
  mkdir -p "$grown/$1" "$broken/$1"
  local words=()
  [ -f "tests/fuzz/words/$1.dict" ] && words=("-dict=tests/fuzz/words/$1.dict")
  PUTBY_READER=$1 nice -n 5 "$program" "$grown/$1" "tests/fuzz/corpus/$1" "${words[@]}" -max_total_time="$seconds" -seed="${SEED:-0}" \
    -max_len=8192 -timeout=30 -rss_limit_mb=2048 -reload=0 -print_final_stats=1 -artifact_prefix="$broken/$1/" \
    > "$scratch/$1.log" 2>&1 \
    && touch "$scratch/$1.well"
}

export -f one
export program scratch grown broken seconds
printf '%s\0' "${readers[@]}" | xargs -0 -n 1 -P 2 bash -c 'one "$1" || true' -

bad=0
for reader in "${readers[@]}"; do
  log=$scratch/$reader.log
  count() { sed -n "s/.*$1: *\([0-9]*\).*/\1/p" "$log" | tail -n 1; }
  begun=$(sed -n 's/.*INITED cov: \([0-9]*\).*/\1/p' "$log" | tail -n 1)
  reached=$(sed -n 's/.* cov: \([0-9]*\) .*/\1/p' "$log" | tail -n 1)
  printf '%-10s %9s runs, %5s a second, %6s places of the code reached, at first %s\n' "$reader" \
    "$(count number_of_executed_units)" "$(count average_exec_per_sec)" "${reached:-?}" "${begun:-?}"
  if [ ! -e "$scratch/$reader.well" ]; then
    bad=1
    grep -E -B 2 -A 12 'panicked|ERROR' "$log" | tail -n 40
    printf '%s broke; the bytes are in %s\n' "$reader" "$(find "$broken/$reader" -type f | tail -n 1)"
  fi
done
exit $bad
