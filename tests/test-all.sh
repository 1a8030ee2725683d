#!/usr/bin/env bash
# All checks and tests, with the servers and programs that some of them need: what is installed is used, what is not
# comes from Debian's packages where this user may install them, and what is missing then is said.
# With CI=true, as .ci/run has it, a test that was skipped fails the run.
set -euo pipefail
cd "$(dirname "$0")/.."

there() {
  case $1 in
    redis-server) command -v redis-server ;;
    postgresql) ls /usr/lib/postgresql/*/bin/initdb ;;
    libimage-exiftool-perl) command -v exiftool ;;
    curl | zsh | chromium) command -v "$1" ;;
  esac >/dev/null 2>&1
}

lacking=()
for package in redis-server postgresql libimage-exiftool-perl curl zsh chromium; do
  there "$package" || lacking+=("$package")
done

if [ ${#lacking[@]} -gt 0 ]; then
  if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
    echo "Installing from Debian's packages: ${lacking[*]}"
    export DEBIAN_FRONTEND=noninteractive
    apt-get update -qq || echo "apt-get update failed" >&2
    for package in "${lacking[@]}"; do
      apt-get install -y -qq --no-install-recommends "$package" >/dev/null || echo "apt-get could not install $package" >&2
    done
  fi
  for package in "${lacking[@]}"; do
    there "$package" || echo "Not installed: $package; the tests that need it are skipped (apt-get install $package)" >&2
  done
fi

if [ "${CI:-}" = true ]; then
  echo "Ratios of this machine, as information only:"
  npm run --silent bench -- --short || echo "the benchmark could not be run" >&2
fi

exec npm run check
