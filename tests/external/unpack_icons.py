"""Writes the icons of an Iconify JSON file as SVG files.

    unpack_icons.py ICONS.json FOLDER [COUNT]

With COUNT, that many icons spread evenly over the alphabet are written.
"""

import json
import pathlib
import sys


def spread(names, count):
    """COUNT names evenly spread, always the same ones."""
    if count >= len(names):
        return names
    return [names[i * len(names) // count] for i in range(count)]


def main():
    icons, folder = json.load(open(sys.argv[1])), pathlib.Path(sys.argv[2])
    names = sorted(icons["icons"])
    names = spread(names, int(sys.argv[3])) if len(sys.argv) > 3 else names
    folder.mkdir(parents=True, exist_ok=True)
    for name in names:
        icon = icons["icons"][name]
        width = icon.get("width", icons.get("width", 16))
        height = icon.get("height", icons.get("height", 16))
        head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}">'
        (folder / f"{name}.svg").write_text(f"{head}{icon['body']}</svg>\n")
    print(f"{len(names)} icons")


main()
