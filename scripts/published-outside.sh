#!/bin/sh
# Looks at what is published through the eyes of other programs: a bundle of the
# worked example by unzip and sha256sum, its Parquet by hyparquet against its CSV
# by Python, its JSON by its schemas with ajv; and lets it be verified where there
# is nothing but the program.
#
#   scripts/published-outside.sh [BUNDLE]
#
# Needs npm, Debian's unzip and python3. Prints what was compared; fails at the
# first thing that differs. With BUNDLE that one is looked at instead, traces too.
set -eu

here=$(cd "$(dirname "$0")/.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
bundle=${1:-}
[ -z "$bundle" ] || bundle=$(realpath "$bundle")

(cd "$here" && CGO_ENABLED=0 go build -o "$work/railtally" .)
cd "$work"
mkdir node && (cd node && npm init -y >/dev/null && npm install --silent --no-audit --no-fund hyparquet@1.33.0 ajv@8.20.0 >/dev/null)
./railtally demo >/dev/null
[ -n "$bundle" ] || { ./railtally pack railtally-demo/otter.yaml -o otter.zip >/dev/null; bundle=$work/otter.zip; }

# The archive and its sums.
unzip -tq "$bundle"
mkdir out && (cd out && unzip -q "$bundle")
/usr/bin/python3 - out <<'PY' | (cd out && sha256sum --quiet -c -)
import json, os, sys
m = json.load(open(os.path.join(sys.argv[1], "manifest.json")))
for f in m["files"]:
    assert os.path.getsize(os.path.join(sys.argv[1], f["name"])) == f["size"], f["name"]
    print(f["sha256"] + "  " + f["name"])
PY
echo "unzip, sha256sum: every file is as the manifest says"

# Parquet against CSV, each by another reader.
/usr/bin/python3 - out/tables/readings.csv >rows.json <<'PY'
import csv, json, sys
json.dump(list(csv.DictReader(open(sys.argv[1], newline="", encoding="utf-8"))), sys.stdout)
PY
cat >node/parquet.mjs <<'JS'
import { asyncBufferFromFile, parquetReadObjects, parquetMetadataAsync } from 'hyparquet'
import fs from 'node:fs'
const rows = JSON.parse(fs.readFileSync(process.argv[2]))
const got = await parquetReadObjects({ file: await asyncBufferFromFile(process.argv[3]) })
if (got.length !== rows.length) throw new Error(`${got.length} rows, CSV has ${rows.length}`)
let n = 0
rows.forEach((want, i) => {
  for (const [key, text] of Object.entries(want)) {
    const v = got[i][key]
    const plain = text.replace(/^'(?=[\s']*[=+\-@])/, '')
    const ok = v === null || v === undefined ? text === ''
      : typeof v === 'boolean' ? text === (v ? 'yes' : 'no')
      : typeof v === 'string' ? v === plain
      : Number(v) === Number(text)
    if (!ok) throw new Error(`row ${i + 1}, ${key}: ${v} is not ${text}`)
    n++
  }
})
console.log(`hyparquet: ${n} cells of ${rows.length} readings are those of the CSV`)
for (const f of process.argv.slice(4)) {
  const file = await asyncBufferFromFile(f)
  const meta = await parquetMetadataAsync(file)
  const all = await parquetReadObjects({ file })
  const t = all.map(r => r.t_s)
  if (BigInt(all.length) !== meta.num_rows || t.some(x => !Number.isFinite(x))) throw new Error(`${f}: not all times are numbers`)
  console.log(`hyparquet: ${f}: ${all.length} samples of ${Object.keys(all[0]).join(', ')}`)
}
JS
node node/parquet.mjs rows.json out/tables/readings.parquet $(ls out/traces/*.parquet 2>/dev/null || true)

# JSON by its schemas.
cat >node/schema.mjs <<'JS'
import Ajv from 'ajv/dist/2020.js'
import fs from 'node:fs'
const [schema, ...docs] = process.argv.slice(2)
const check = new Ajv({ strict: true, allErrors: true }).compile(JSON.parse(fs.readFileSync(schema)))
for (const d of docs) if (!check(JSON.parse(fs.readFileSync(d)))) throw new Error(d + ': ' + JSON.stringify(check.errors.slice(0, 3)))
console.log(`ajv: ${docs.length} documents follow ${schema}`)
JS
study=out/study.yaml
for s in tally claims table comparison; do ./railtally schema $s >$s.schema.json; done
node node/schema.mjs tally.schema.json out/tally.json
./railtally claims $study --json >claims.json || [ $? = 3 ]
node node/schema.mjs claims.schema.json claims.json
for t in totals rails differences effects claims readings instruments figures; do ./railtally table $study $t -o table-$t.json; done
node node/schema.mjs table.schema.json table-*.json
./railtally compare $study $study --first then --second now --json >comparison.json
node node/schema.mjs comparison.schema.json comparison.json

# Nothing but the program.
mkdir -p clean/tmp && cp railtally clean/ && cp "$bundle" clean/it.zip
if [ "$(id -u)" = 0 ]; then
  env -i "$(command -v chroot)" clean /railtally verify /it.zip
else
  (cd clean && env -i ./railtally verify it.zip)
fi
