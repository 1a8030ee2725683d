#!/bin/sh
# Sends a folder of frames to a stopledger service, waits, and saves the report. POSIX sh and curl; nothing else.
#
#   SERVICE=http://127.0.0.1:4180 TOKEN=... ./ingest.sh FOLDER REPORT.json
#
# Safe to stop and to run again: the id of the shoot is kept in FOLDER/.stopledger-shoot, the same file under the same
# name is taken once, and completing a complete shoot changes nothing. Exit status: 0 all frames are consistent,
# 2 something is flagged or was not taken, 1 the job could not be done.
set -eu

folder=${1:?"usage: ingest.sh FOLDER REPORT.json"}
report=${2:?"usage: ingest.sh FOLDER REPORT.json"}
service=${SERVICE:-http://127.0.0.1:4180}
shoot_file=$folder/.stopledger-shoot
answer=$(mktemp)
trap 'rm -f "$answer"' EXIT
trap 'exit 1' INT TERM

fail() {
  echo "ingest: $*" >&2
  exit 1
}

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

# The value of a text field of a flat JSON answer.
field() {
  sed -n 's/.*"'"$1"'":"\([^"]*\)".*/\1/p' "$answer" | head -n 1
}

if [ -s "$shoot_file" ]; then
  id=$(cat "$shoot_file")
else
  name=$(basename "$folder" | tr -d '"\\')
  status=$(call --header 'Content-Type: application/json' --data "{\"name\":\"$name\"}" "$service/v1/shoots") || fail "no answer from $service"
  [ "$status" = 201 ] || fail "the shoot was not created: $(field detail) ($status)"
  # The first id of the answer is the shoot's.
  id=$(sed 's/^{"id":"\([0-9a-f]*\)".*/\1/' "$answer")
  printf '%s\n' "$id" >"$shoot_file"
fi

refused=0
for path in "$folder"/*; do
  [ -f "$path" ] || continue
  case $path in
    *.[jJ][pP][gG] | *.[jJ][pP][eE][gG] | *.[tT][iI][fF] | *.[dD][nN][gG] | *.[nN][eE][fF] | *.[cC][rR][23] | *.[aA][rR][wW] | *.[rR][aA][fF]) ;;
    *) continue ;;
  esac
  status=$(call --upload-file "$path" "$service/v1/shoots/$id/frames/$(encoded "$(basename "$path")")") || fail "$path: no answer"
  case $status in
    200 | 201) ;;
    401 | 403 | 404 | 5??) fail "$path: $(field detail) ($status)" ;;
    *)
      # A complete shoot takes no new frame; this one is told and the others go on.
      echo "not taken: $path: $(field detail) ($status)" >&2
      refused=1
      ;;
  esac
done

status=$(call --request POST "$service/v1/shoots/$id/complete") || fail 'no answer'
[ "$status" = 200 ] || fail "not completed: $(field detail) ($status)"

# 409 report-not-ready: frames are still being measured; each call waits up to 30 seconds for them.
while :; do
  status=$(call --header 'Accept: application/json' "$service/v1/shoots/$id/report?wait=30") || fail 'no answer'
  case $status in
    200) break ;;
    409) ;;
    *) fail "no report: $(field detail) ($status)" ;;
  esac
done
cp "$answer" "$report"
echo "report of shoot $id in $report"

# The summary is what counts all frames; a verdict of any frame that is not "consistent" is one to look at.
if [ "$refused" = 1 ] || grep -Eq '"verdict":"(check|off|unreadable)"' "$report"; then exit 2; fi
