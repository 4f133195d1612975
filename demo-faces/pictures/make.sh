#!/usr/bin/env bash
# Makes the README's pictures anew from the demo faces. Needs pdftoppm
# (poppler-utils) for the template's page, and what tests/browser/run.sh installs
# for those of the bench page.
set -euo pipefail
cd "$(dirname "$0")/../.."
cargo build --quiet --release
run=target/release/fretgrin
out=$(mktemp -d)
for face in owl fox moon gourd cat moth; do
    "$run" prepare "demo-faces/$face.svg" --out "$out" >/dev/null || [ $? = 1 ]
    # Of the moon only what would fall out: made as wide as the rule asks, its brow
    # hides the eye.
    how=(); [ "$face" != moon ] || how=(--stops)
    "$run" mend "demo-faces/$face.svg" "${how[@]}" --out "$out" >/dev/null || [ $? = 1 ]
    cp "$out/$face-picture.png" "$out/$face-before-after.png" "$out/$face-night.png" demo-faces/pictures/
done
pdftoppm -r 70 -f 1 -l 2 -png "$out/owl-template.pdf" "$out/owl-template"
cp "$out/owl-template-1.png" demo-faces/pictures/owl-template.png
cp "$out/owl-template-2.png" demo-faces/pictures/owl-bench-sheet.png
"$run" batch --mend --shop demo-faces/shop.toml --out "$out" >/dev/null
pdftoppm -r 70 -f 3 -l 3 -png "$out/batch-papers.pdf" "$out/boards"
cp "$out"/boards-*.png demo-faces/pictures/boards.png
npm ci --silent --prefix tests/browser
node tests/browser/pictures.mjs demo-faces/pictures
"$run" survey demo-faces --mend --out "$out/survey" >/dev/null
pdftoppm -r 110 -f 1 -l 1 -x 0 -y 0 -W 935 -H 900 -singlefile -png "$out/survey/survey.pdf" demo-faces/pictures/survey
rm -r "$out"
