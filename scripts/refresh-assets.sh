#!/bin/sh
# Fetches the files of others that the pages use, each of one version.
#
#   scripts/refresh-assets.sh
#
# Needs npm. Writes into internal/web. The program embeds these files, so
# running it needs no npm. After a new version is named here, name it in
# internal/web/static/vendor/README.md too; a test compares them.
set -eu

htmx=htmx.org@2.0.11
uplot=uplot@1.6.32
axe=axe-core@4.14.1

here=$(cd "$(dirname "$0")/.." && pwd)/internal/web
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

fetch() {
	cd "$work"
	rm -rf package
	tar xzf "$(npm pack --silent "$1")"
}

fetch "$htmx"
cp package/dist/htmx.min.js "$here/static/vendor/htmx.min.js"
cp package/LICENSE "$here/static/vendor/htmx.LICENSE"

fetch "$uplot"
cp package/dist/uPlot.iife.min.js "$here/static/vendor/uplot.min.js"
cp package/dist/uPlot.min.css "$here/static/vendor/uplot.css"
cp package/LICENSE "$here/static/vendor/uplot.LICENSE"

# Only the tests of accessibility use this one.
fetch "$axe"
gzip -9 -n -c package/axe.min.js >"$here/testdata/axe.min.js.gz"
cp package/LICENSE "$here/testdata/axe.LICENSE"

ls -l "$here/static/vendor" "$here/testdata"
