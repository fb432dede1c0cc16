#!/bin/bash
# Renders the pictures of the READMEs and the guide from the program's own output. Needs
# poppler's pdftoppm and Chromium.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$here/../.."
go run ./cmd/tapeline draft testdata/orders/torso.json --paper full -o "$work/full.pdf" >/dev/null
go run ./cmd/tapeline draft testdata/orders/torso.json --paper a4 -o "$work/a4.pdf" >/dev/null
pdftoppm -r 26 -gray -png -singlefile "$work/full.pdf" "$here/torso"
pdftoppm -r 60 -gray -png -singlefile -f 1 -l 1 "$work/a4.pdf" "$here/page-1"
pdftoppm -r 60 -gray -png -singlefile -f 6 -l 6 "$work/a4.pdf" "$here/page-6"

# Pages of the workroom, from the tests that use them in Chromium.
TAPELINE_PICTURES=$work go test ./api/workroom -count=1 \
  -run '^(TestOrderIsCut|TestQuestionIsAnswered|TestAlterationIsApplied|TestStyleIsWritten)$' >/dev/null
for page in order question fitting write; do
  cp "$work/workroom-$page.png" "$here"
done
