#!/usr/bin/env bash
# Judges what is published by programs of others: the pages of the worked example
# by html-validate and axe-core, the printed page by poppler's pdfinfo and
# pdftotext, the pictures by what file says of their sizes, the catalogues by
# gettext's msgfmt.
#
#   scripts/check-report.sh
#
# Needs npm, a browser of the Chromium family, and Debian's poppler-utils, gettext
# and file. Says what is wrong and ends with 1.
set -euo pipefail
cd "$(dirname "$0")/.."
here=$PWD
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
go build -o "$work/railtally" .
cd "$work"
npm init -y >/dev/null
npm install --silent html-validate@10 axe-core@4.14.1 puppeteer-core@24 >/dev/null
./railtally demo demo >/dev/null
for language in en de; do
	for length in full short; do
		./railtally report demo/otter.yaml --language $language --length $length -o $language-$length.html >/dev/null
	done
done
bad=0
fail() { echo "check-report: $*"; bad=1; }

echo "pages, by html-validate"
cat >.htmlvalidate.json <<'RULES'
{"extends": ["html-validate:standard"], "rules": {
  "void-style": "off", "no-implicit-button-type": "off", "attribute-boolean-style": "off", "doctype-style": "off",
  "long-title": "off", "require-sri": "off", "no-inline-style": "error"}}
RULES
npx html-validate ./*.html || fail "html-validate found errors"

echo "pages, by axe-core"
browser=${BROWSER_PATH:-$(command -v chromium || command -v chromium-browser || command -v google-chrome)}
cat >axe.mjs <<'JS'
import fs from 'node:fs'
import puppeteer from 'puppeteer-core'
const axe = fs.readFileSync('node_modules/axe-core/axe.min.js', 'utf8')
const browser = await puppeteer.launch({executablePath: process.argv[2], args: ['--no-sandbox']})
let bad = 0
for (const name of process.argv.slice(3)) {
  for (const [width, scheme] of [[360, 'light'], [360, 'dark'], [1440, 'light'], [1440, 'dark']]) {
    const page = await browser.newPage()
    await page.setBypassCSP(true)
    await page.setViewport({width, height: 900})
    await page.emulateMediaFeatures([{name: 'prefers-color-scheme', value: scheme}])
    await page.goto('file://' + process.cwd() + '/' + name)
    await page.evaluate(() => document.querySelectorAll('details').forEach(d => { d.open = true }))
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)
    if (wide > 0) { bad++; console.log(`${name} ${width}: ${wide} pixels too wide`) }
    await page.evaluate(axe)
    const r = await page.evaluate(() => axe.run({runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa', 'best-practice']}))
    for (const v of r.violations) { bad++; console.log(`${name} ${width} ${scheme}: ${v.id}: ${v.help}: ${v.nodes.length}: ${v.nodes[0].html.slice(0, 160)}`) }
    console.log(`${name} ${width} ${scheme}: ${r.passes.length} rules pass, ${r.violations.length} fail`)
    await page.close()
  }
}
await browser.close()
process.exit(bad ? 1 : 0)
JS
node axe.mjs "$browser" ./*.html || fail "axe-core found violations"

echo "print, by poppler"
./railtally report demo/otter.yaml --length short --pdf --browser "$browser" -o short.pdf >/dev/null
./railtally report demo/otter.yaml --pdf --browser "$browser" -o full.pdf >/dev/null
for f in short full; do
	pages=$(pdfinfo $f.pdf | sed -n 's/^Pages: *//p')
	echo "$f.pdf: $pages sheets, $(pdfinfo $f.pdf | sed -n 's/^Page size: *//p')"
	pdftotext -layout $f.pdf $f.txt
	for want in "Does the newer bridge chip draw less" "1.026" "95 %" "Not assessed"; do
		tr '\n\302\240' '   ' <$f.txt | tr -s ' ' | grep -qF "$want" || fail "$f.pdf does not say $want"
	done
	# The question stands at the head of every sheet but the first.
	heads=$(pdftotext -layout -f 2 $f.pdf - | tr '\f' '\n' | grep -c '^ *Does the newer bridge chip draw less')
	[ "$heads" -ge $((pages - 1)) ] || fail "$f.pdf: $heads running heads on $pages sheets"
	pdfinfo $f.pdf | grep -q '^Title: *Does the newer' || fail "$f.pdf has no title"
done
[ "$(pdfinfo short.pdf | sed -n 's/^Pages: *//p')" -le 10 ] || fail "the short page takes more than ten sheets"

echo "pictures, by file"
./railtally chart demo/otter.yaml all -o small >/dev/null
./railtally chart demo/otter.yaml all --size 1080p -o frames >/dev/null
./railtally chart demo/otter.yaml all --size 4k --dark -o fine >/dev/null
for f in frames/*.png; do file "$f" | grep -q '1920 x 1080' || fail "$f: $(file "$f")"; done
for f in fine/*.png; do file "$f" | grep -q '3840 x 2160' || fail "$f: $(file "$f")"; done
for f in small/*.png; do file "$f" | grep -qE '(1440|1280) x' || fail "$f: $(file "$f")"; done
echo "$(ls frames/*.png fine/*.png small/*.png | wc -l) pictures"

echo "catalogues, by gettext"
for f in "$here"/internal/phrase/catalogue/*.po; do msgfmt --check-format -o /dev/null "$f" || fail "$f"; done

[ $bad = 0 ] && echo "nothing is wrong"
exit $bad
