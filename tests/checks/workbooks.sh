#!/usr/bin/env bash
# Checks workbooks with a real spreadsheet program, LibreOffice without a screen. Usage: workbooks.sh PUTBY
#
# The sample garden, its tables saved as .xlsx and as .ods, must be read as the CSV files are; the tables that are written as
# .xlsx must come back from LibreOffice as --format csv says them. Installs LibreOffice Calc as a Debian package where it is
# missing, which needs root and the network; it takes about a minute.
set -euo pipefail
putby=$(realpath "$1")
here=$(cd "$(dirname "$0")" && pwd)
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

failed() { printf 'Workbooks were not checked, or are wrong: %s\n' "$*" >&2; exit 1; }

if ! command -v soffice > /dev/null; then
  as_root=()
  [ "$(id -u)" = 0 ] || as_root=(sudo -n)
  { "${as_root[@]}" apt-get update && "${as_root[@]}" apt-get install -y --no-install-recommends libreoffice-calc; } \
    > "$scratch/apt.log" 2>&1 \
    || { tail -n 5 "$scratch/apt.log" >&2; failed "LibreOffice could not be installed; is there a network, and root?"; }
fi

# UTF-8, commas, double quotes; what a cell shows or, with false at the end, what it holds.
convert() { # FORM FOLDER FILES…
  local form=$1 folder=$2
  shift 2
  soffice "-env:UserInstallation=file://$scratch/profile" --headless --infilter=CSV:44,34,76,1,,0,false,true \
    --convert-to "$form" --outdir "$folder" "$@" > "$scratch/convert.log" 2>&1 \
    || { tail -n 5 "$scratch/convert.log" >&2; failed "LibreOffice could not convert to $form"; }
}

usual=(--as-of 2026-07-13 --draws 300 --format csv)
asked() { # FOLDER
  local exit=0
  "$putby" -g "$1" check "${usual[@]}" || exit=$?
  [ "$exit" -le 1 ] || failed "the garden in $1 is not read"
  "$putby" -g "$1" when "${usual[@]}"
  "$putby" -g "$1" stores "${usual[@]}"
}

"$putby" -g "$scratch/csv" start --from-sample > /dev/null
asked "$scratch/csv" > "$scratch/want"
for ending in xlsx ods; do
  convert "$ending" "$scratch/$ending" "$scratch"/csv/*.csv
  cp "$scratch/csv/garden.toml" "$scratch/$ending/"
  asked "$scratch/$ending" > "$scratch/got"
  cmp "$scratch/want" "$scratch/got" || failed "the .$ending tables are read otherwise than the CSV files"
  printf 'The sample garden in %s tables of .%s is read as its CSV files are.\n' \
    "$(find "$scratch/$ending" -name "*.$ending" | wc -l)" "$ending"
done

verbs=("when" "forecast" "kitchen" "stores" "week" "sessions" "tables crops" "calendar" "compare")
for verb in "${verbs[@]}"; do
  name=${verb// /-}
  # shellcheck disable=SC2086
  "$putby" $verb --sample "${usual[@]}" > "$scratch/$name.want.csv"
  # shellcheck disable=SC2086
  "$putby" $verb --sample "${usual[@]}" -o "$scratch/$name.xlsx"
done
soffice "-env:UserInstallation=file://$scratch/profile" --headless \
  --convert-to 'csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false' --outdir "$scratch/back" \
  "$scratch"/*.xlsx > "$scratch/convert.log" 2>&1 \
  || failed "LibreOffice does not open what is written"
for verb in "${verbs[@]}"; do
  name=${verb// /-}
  python3 "$here/workbooks.py" "$scratch/$name.want.csv" "$scratch/back/$name.csv" || failed "$verb comes back changed"
done
printf 'The tables of %s verbs come back from LibreOffice as they were written.\n' "${#verbs[@]}"
