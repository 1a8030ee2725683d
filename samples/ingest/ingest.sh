#!/bin/sh
# Sends a folder of frames to a stopledger service, waits, and saves the report. POSIX sh and curl; nothing else.
#
#   SERVICE=http://127.0.0.1:4180 TOKEN=... ./ingest.sh FOLDER REPORT.json
#
# Safe to stop and to run again: the id of the shoot is kept in FOLDER/.stopledger-shoot, the same file under the same
# name is taken once, and completing a complete shoot changes nothing. Exit status: 0 all frames are consistent,
# 2 something is flagged or was not taken, 1 the job could not be done.
set -eu

fail() {
  echo "ingest: $*" >&2
  exit 1
}

[ $# = 2 ] || fail 'usage: ingest.sh FOLDER REPORT.json'
folder=$1
report=$2
[ -d "$folder" ] && [ -w "$folder" ] || fail "$folder: no folder that can be written"
service=${SERVICE:-http://127.0.0.1:4180}
shoot_file=$folder/.stopledger-shoot
# What stopledger itself takes from folders.
endings='jpg jpeg jpe jfif png tif tiff webp avif gif heic heif hif
 3fr arw cr2 cr3 crw dcr dng erf fff iiq kdc mef mos mrw nef nrw orf pef raf raw rw2 rwl sr2 srf srw x3f'
answer=$(mktemp)
trap 'rm -f "$answer"' EXIT
trap 'exit 1' INT TERM

# Prints the status of the answer and leaves its body in $answer. Tries again what may succeed later: no answer, 408,
# 429 and 5xx, with growing pauses or as long as Retry-After says. The token goes by standard input, where no list of
# processes shows it.
call() {
  printf 'header = "Authorization: Bearer %s"\n' "${TOKEN:-}" |
    curl --silent --show-error --config - --retry 6 --retry-connrefused --max-time 1800 \
      --output "$answer" --write-out '%{http_code}' "$@"
}

# Percent-encodes a file name for an address, byte by byte (RFC 3986).
encoded() {
  printf '%s' "$1" | od -An -v -tx1 | tr -d ' \n' | sed 's/../%&/g'
}

# The value of a text field of a flat JSON answer, with ' for the quotation marks inside it.
field() {
  sed -n "s/\\\\\"/'/g"'; s/.*"'"$1"'":"\([^"]*\)".*/\1/p' "$answer" | head -n 1
}

# Ends with what the service said.
refuse() {
  hint=
  case $(field code) in
    shoot-not-found) hint="; to send the folder as a new shoot, remove $shoot_file" ;;
  esac
  fail "$1: $(field detail) ($status)$hint"
}

is_image() {
  case $1 in
    *.*) ;;
    *) return 1 ;;
  esac
  ending=$(printf '%s' "${1##*.}" | tr '[:upper:]' '[:lower:]')
  for one in $endings; do
    [ "$ending" = "$one" ] && return 0
  done
  return 1
}

if [ -s "$shoot_file" ]; then
  id=$(cat "$shoot_file")
else
  name=$(basename "$folder" | tr -d '"\\')
  status=$(call --header 'Content-Type: application/json' --data "{\"name\":\"$name\"}" "$service/v1/shoots") || fail "no answer from $service"
  [ "$status" = 201 ] || refuse 'the shoot was not created'
  # The first id of the answer is the shoot's.
  id=$(sed 's/^{"id":"\([0-9a-f]*\)".*/\1/' "$answer")
  printf '%s\n' "$id" >"$shoot_file"
fi

refused=0
others=0
for path in "$folder"/*; do
  [ -f "$path" ] || continue
  is_image "$path" || {
    others=$((others + 1))
    continue
  }
  status=$(call --upload-file "$path" "$service/v1/shoots/$id/frames/$(encoded "$(basename "$path")")") || fail "$path: no answer"
  case $status in
    200 | 201) ;;
    401 | 403 | 404 | 5??) refuse "$path" ;;
    *)
      # A complete shoot takes no new frame; this one is told and the others go on.
      echo "not taken: $path: $(field detail) ($status)" >&2
      refused=1
      ;;
  esac
done
[ "$others" = 0 ] || echo "not sent, since they are no images: $others files"

status=$(call --request POST "$service/v1/shoots/$id/complete") || fail 'no answer'
[ "$status" = 200 ] || refuse 'not completed'

# 409 report-not-ready: frames are still being measured; each call waits up to 30 seconds for them.
while :; do
  status=$(call --header 'Accept: application/json' "$service/v1/shoots/$id/report?wait=30") || fail 'no answer'
  case $status in
    200) break ;;
    409) ;;
    *) refuse 'no report' ;;
  esac
done
cat "$answer" >"$report"
echo "report of shoot $id in $report"

# The summary is what counts all frames; a verdict of any frame that is not "consistent" is one to look at.
if [ "$refused" = 1 ] || grep -Eq '"verdict":"(check|off|unreadable)"' "$report"; then exit 2; fi
