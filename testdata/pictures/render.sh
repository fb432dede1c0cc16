#!/bin/bash
# Renders the pictures of the READMEs and the guide from the program's own output. Needs
# poppler's pdftoppm and Chromium.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$here/../.."
go run ./cmd/tapeline draft testdata/orders/torso.json --paper full -o "$work/full.pdf" >/dev/null
pdftoppm -r 26 -gray -png -singlefile "$work/full.pdf" "$here/torso"

for body in slim full-bust wide-hip; do
  go run ./cmd/tapeline fitting "testdata/fittings/$body.json" -o "$work/$body.pdf" >/dev/null
  pdftoppm -r 56 -png -singlefile "$work/$body.pdf" "$here/fitting-$body"
done

# Pages of the workroom, from the tests that use them in Chromium.
TAPELINE_PICTURES=$work go test ./api/workroom -count=1 \
  -run '^(TestOrderIsCut|TestQuestionIsAnswered|TestAlterationIsApplied|TestStyleIsWritten)$' >/dev/null
for page in order question fitting write; do
  cp "$work/workroom-$page.png" "$here"
done
