"""Times `putby forecast` beside the two numpy scripts, whole processes, one after the other in each round.

python3 speed.py PUTBY GARDEN NUMBERS [ROUNDS]

PUTBY is the release build, GARDEN the folder written by thousand.py, NUMBERS the folder written by the bench. Run it with
the python that has numpy, on two free processors; on a busy machine only the ratios mean anything.
"""

import os
import pathlib
import statistics
import sys
import time

putby, garden, numbers = sys.argv[1:4]
rounds = int(sys.argv[4]) if len(sys.argv) > 4 else 3
here = pathlib.Path(__file__).parent
commands = {
    "plain": [sys.executable, str(here / "ensemble_plain.py"), numbers],
    "fast": [sys.executable, str(here / "ensemble_fast.py"), numbers],
    "putby": [putby, "forecast", "-g", garden, "--draws", "10000", "--format", "csv", "-o", os.devnull],
}
# Each side with the threads it is compared at: ours with two, numpy with one as its own arithmetic has here.
environment = dict(os.environ, RAYON_NUM_THREADS="2")
taken = {name: [] for name in commands}
for number in range(rounds):
    for name, command in commands.items():
        clock = time.perf_counter()
        child = os.spawnvpe(os.P_NOWAIT, command[0], command, environment)
        _, status, usage = os.wait4(child, 0)
        assert status == 0, command
        wall = time.perf_counter() - clock
        taken[name].append((wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024))
        print(f"round {number + 1} {name:6} {wall:6.2f} s, processor {taken[name][-1][1]:6.2f} s", flush=True)
for name, runs in taken.items():
    wall, cpu, memory = (statistics.median(column) for column in zip(*runs))
    of_wall = statistics.median(run[0] / ours[0] for run, ours in zip(runs, taken["putby"]))
    of_cpu = statistics.median(run[1] / ours[1] for run, ours in zip(runs, taken["putby"]))
    print(
        f"{name:6} median {wall:6.2f} s ({of_wall:5.1f} times putby), processor {cpu:6.2f} s ({of_cpu:4.1f} times), "
        f"most memory {max(run[2] for run in runs):5.0f} MiB"
    )
