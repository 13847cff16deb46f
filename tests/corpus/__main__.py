"""Run everything and compare it with what is stored, or store it anew.

    python -m tests.corpus
    python -m tests.corpus --only 'cure '
    python -m tests.corpus --write
    python -m tests.corpus --choose

Exit status 1 where any run came out otherwise than before.
"""

import argparse
import os
import shlex
import sys
import time

from tests.corpus import choice
from tests.corpus.differences import differences
from tests.corpus.pool import answers_to, courses_of
from tests.corpus.runs import every_run
from tests.corpus.store import STORED, read, write

ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
"""A sum that several threads share may come out otherwise in its last digit. Workers begin with these set."""


def main() -> int:
    """Compare or store, as the command line asks."""
    parser = argparse.ArgumentParser(prog="python -m tests.corpus", description="Compare every answer with the stored.")
    parser.add_argument("--write", action="store_true", help="store the answers anew")
    parser.add_argument("--choose", action="store_true", help="choose anew what runs in the suite (needs `coverage`)")
    parser.add_argument("--only", default="", metavar="WORDS", help="only runs whose command line holds these words")
    parser.add_argument("--slowest", type=int, default=0, metavar="N", help="tell the N slowest runs")
    chosen = parser.parse_args()
    os.environ.update(dict.fromkeys(ONE_THREAD, "1"))
    if chosen.choose:
        choice.write(list(choice.chosen(courses_of(every_run()))))
        return 0
    start = time.perf_counter()
    now = answers_to([run for run in every_run() if chosen.only in shlex.join(run)], chosen.slowest)
    stored = read() if STORED.exists() else {}
    before = {name: said for name, said in stored.items() if chosen.only in name}
    found = list(differences(before, now))
    print("\n".join([*found, f"{len(now)} runs, {len(found)} otherwise; {time.perf_counter() - start:.0f} s"]))
    if chosen.write:
        write({name: said for name, said in stored.items() if name not in before} | now)
        print(f"stored: {STORED.stat().st_size} bytes")
    return 1 if found and not chosen.write else 0


if __name__ == "__main__":
    sys.exit(main())
