"""Prints what each file of a folder did to its reader: outcome, seconds, peak memory.

Usage: python tests/hostile/report_hostile.py FOLDER
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

from triage.containment import Breach, Supervisor, resident_mb
from triage.readers.folder import list_files


def main(folder: Path) -> None:
    root, names, problems = list_files(folder)
    for problem in problems:
        print(f"{problem.source!a:60.60} {'':>14} {problem.what}")
    with Supervisor(1, [root]) as supervisor:
        for name in names:
            print(f"{name!a:60.60} {one(supervisor, root, name)}", flush=True)
    print(f"means of containment in force: {supervisor.holds}")


def one(supervisor: Supervisor, root: Path, name: str) -> str:
    began, listings, told, peak = time.monotonic(), 0, [], 0
    payload = {"root": str(root), "path": name, "beside": []}
    for _, value in supervisor.map("read", [payload]):
        if isinstance(value, Breach):
            told.append(value.what)
        else:
            listings += len(value["listings"])
            told += [problem["what"] for problem in value["problems"]]
        peak = max(peak, *(resident_mb(pid) for pid in supervisor.process_ids()))
    seconds = time.monotonic() - began
    outcome = f"{listings} listings" if listings else ""
    more = f" (and {len(told) - 1} more)" if len(told) > 1 else ""
    return f"{seconds:6.2f} s {peak:4} MB {outcome} {told[0] if told else ''!a}{more}"


if __name__ == "__main__":
    main(Path(sys.argv[1]))
