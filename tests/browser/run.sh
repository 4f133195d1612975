#!/usr/bin/env bash
# All tests of the bench page in a real browser, in one command:
#   tests/browser/run.sh [options of node --test]
# Installs what it needs by package: Chromium and Node (apt), playwright-core and
# axe-core (npm), PyMuPDF (pip). FRETGRIN_BIN names a program built already,
# FRETGRIN_PYTHON a Python that has PyMuPDF.
set -euo pipefail
cd "$(dirname "$0")/../.."
if ! command -v chromium >/dev/null || ! command -v npm >/dev/null; then
    apt-get update -qq
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium nodejs npm python3-venv >/dev/null
fi
if [ -z "${FRETGRIN_PYTHON:-}" ]; then
    venv=target/ci/venv
    [ -x "$venv/bin/python" ] || python3 -m venv "$venv"
    "$venv/bin/pip" install -q --disable-pip-version-check -r tests/external/requirements.txt
    export FRETGRIN_PYTHON="$PWD/$venv/bin/python"
fi
if [ -z "${FRETGRIN_BIN:-}" ]; then
    cargo build --quiet --release
    export FRETGRIN_BIN="$PWD/target/release/fretgrin"
fi
npm ci --silent --prefix tests/browser
exec node --test --test-concurrency=1 "$@" tests/browser/
