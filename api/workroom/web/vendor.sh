#!/bin/bash
# Installs the libraries of package.json and copies what the pages embed.
set -euo pipefail
cd "$(dirname "$0")"
npm ci --no-progress >/dev/null
out=../assets/vendor
mkdir -p "$out"
cp node_modules/htmx.org/dist/htmx.min.js "$out/htmx.js"
cp node_modules/htmx-ext-sse/dist/sse.min.js "$out/sse.js"
licence=$(printf '/*!\n%s\n*/' "$(cat node_modules/@codemirror/view/LICENSE)")
node_modules/.bin/esbuild editor.js --bundle --minify --format=iife --global-name=CodeMirror --log-level=warning \
  --banner:js="$licence" --outfile="$out/editor.js"
