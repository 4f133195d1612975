"""How long the commands take as whole processes, and what memory they need.

    timings.py FRETGRIN DEMO_FOLDER [ICON_FOLDER]

Prints the README's rows: `prepare` of each demo face, mending (what
`export --mend` takes over `export`), and, with a folder of 1,000 drawings or
more, surveys of the first 100, 330 and 1,000, their second runs, and the memory of all.
Medians; memory is the most the process held.
"""

import os
import pathlib
import shutil
import statistics
import subprocess
import sys
import tempfile
import time

RUNS = 9


def run(command):
    """Seconds and megabytes of one process."""
    started = time.monotonic()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    took = time.monotonic() - started
    if process.returncode not in (0, 1):
        sys.exit(f"{' '.join(map(str, command))}: exit code {process.returncode}")
    return took, usage.ru_maxrss / 1024


def median(command, runs=RUNS):
    """Median seconds, and megabytes at the most."""
    all_runs = [run(command) for _ in range(runs)]
    return statistics.median(took for took, _ in all_runs), max(memory for _, memory in all_runs)


def faces(program, folder, out):
    """Rows for the demo faces."""
    prepared, mended, most = [], [], 0
    for face in sorted(folder.glob("*.svg")):
        common = [str(face), "--out", out, "--force"]
        took, memory = median([program, "prepare", *common])
        most = max(most, memory)
        prepared.append(f"{face.stem} {took * 1000:.0f} ms")
        plain, _ = median([program, "export", *common])
        whole, _ = median([program, "export", "--mend", *common])
        mended.append(f"{face.stem} {max(0, whole - plain) * 1000:.0f} ms")
    print(f"prepare: {', '.join(prepared)}; {most:.0f} MB")
    print(f"mending: {', '.join(mended)}")


def survey(program, files, out):
    """Rows for a survey of `files`: cold three times, then remembered."""
    with tempfile.TemporaryDirectory() as folder:
        for file in files:
            shutil.copy(file, folder)
        command = [program, "survey", folder, "--out", out, "--force"]
        cold, memory = median([*command, "--afresh"], 3)
        second, later = median(command, 3)
    print(f"survey of {len(files)}: {cold:.2f} s, {len(files) / cold:.0f} faces a second, {memory:.0f} MB")
    print(f"again: {second:.2f} s, {cold / second:.0f} times as fast, {later:.0f} MB")


def main():
    program, demo = sys.argv[1], pathlib.Path(sys.argv[2])
    with tempfile.TemporaryDirectory() as out:
        faces(program, demo, out)
    if len(sys.argv) > 3:
        icons = sorted(pathlib.Path(sys.argv[3]).glob("*.svg"))
        for count in (100, 330, 1000):
            with tempfile.TemporaryDirectory() as out:
                survey(program, icons[:count], out)


main()
