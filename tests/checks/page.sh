#!/usr/bin/env bash
# Checks the page and the sheets of `putby report` with the Nu HTML checker and in Chromium. Usage: page.sh PUTBY
#
# Installs what is missing as Debian packages and one npm package, which needs root and the network; nothing else of the
# project needs either.
set -euo pipefail
putby=$(realpath "$1")
here=$(cd "$(dirname "$0")" && pwd)
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

failed() { printf 'The pages were not checked: %s\n' "$*" >&2; exit 1; }

missing=()
command -v chromium > /dev/null || missing+=(chromium)
command -v java > /dev/null || missing+=(default-jre-headless)
command -v npm > /dev/null || missing+=(npm)
command -v python3 > /dev/null || missing+=(python3)
if [ ${#missing[@]} -gt 0 ]; then
  as_root=()
  [ "$(id -u)" = 0 ] || as_root=(sudo -n)
  { "${as_root[@]}" apt-get update && "${as_root[@]}" apt-get install -y --no-install-recommends "${missing[@]}"; } \
    > "$scratch/apt.log" 2>&1 \
    || { tail -n 5 "$scratch/apt.log" >&2; failed "${missing[*]} could not be installed; is there a network, and root?"; }
fi
npm install --prefix "$scratch" --no-audit --no-fund --ignore-scripts vnu-jar@26.9.27 > "$scratch/npm.log" 2>&1 \
  || { tail -n 5 "$scratch/npm.log" >&2; failed "the HTML checker could not be fetched; is there a network?"; }

mkdir "$scratch/pages"
python3 "$here/page.py" "$putby" --keep "$scratch/pages"
java -jar "$scratch/node_modules/vnu-jar/build/dist/vnu.jar" --stdout --Werror "$scratch"/pages/*.html \
  || failed "the HTML checker found the faults above"
printf 'The HTML checker found nothing in %s pages.\n' "$(find "$scratch/pages" -name '*.html' | wc -l)"
