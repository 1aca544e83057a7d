#!/bin/sh
# Fetches the typeface again and cuts it down to what the program shows.
#
#   scripts/refresh-fonts.sh
#
# Needs npm and Debian's python3-fonttools and python3-brotli. Writes into
# internal/look/fonts. The result depends on the versions named here only.
set -eu

package=@expo-google-fonts/source-sans-3
version=0.4.1

here=$(cd "$(dirname "$0")/.." && pwd)
out=$here/internal/look/fonts
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

cd "$work"
npm pack --silent "$package@$version" >archive
tar xzf "$(cat archive)"

/usr/bin/python3 "$here/scripts/refresh-fonts.py" \
	package/400Regular/SourceSans3_400Regular.ttf "$out/sans-regular" Regular 400
/usr/bin/python3 "$here/scripts/refresh-fonts.py" \
	package/600SemiBold/SourceSans3_600SemiBold.ttf "$out/sans-semibold" SemiBold 600
cp package/LICENSE_FONT "$out/OFL.txt"

ls -l "$out"
