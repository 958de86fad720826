"""Times `putby kitchen --sample` in turns with `import numpy`, whole processes, from a cold and from a warm file cache.

sudo python3 start.py PUTBY PYTHON [ROUNDS]

PUTBY is the release build, PYTHON a Python that has numpy. Emptying the file cache needs Linux and root; without them only
the warm times are taken. Run it with nothing else to do.
"""

import os
import statistics
import subprocess
import sys
import time

putby, python = sys.argv[1:3]
rounds = int(sys.argv[3]) if len(sys.argv) > 3 else 5
commands = {
    "numpy": [python, "-c", "import numpy"],
    "kitchen": [putby, "kitchen", "--sample", "-o", os.devnull],
}


def emptied():
    """Empties the file cache, if that may be done."""
    os.sync()
    try:
        with open("/proc/sys/vm/drop_caches", "w") as control:
            control.write("3")
    except OSError:
        return False
    return True


for cold in (True, False):
    if cold and not emptied():
        print("the file cache cannot be emptied here: warm times only")
        continue
    taken = {name: [] for name in commands}
    for _ in range(rounds):
        for name, command in commands.items():
            if cold:
                emptied()
            clock = time.perf_counter()
            subprocess.run(command, check=True)
            taken[name].append(time.perf_counter() - clock)
    middle = {name: statistics.median(times) for name, times in taken.items()}
    for name, times in taken.items():
        print(f"{'cold' if cold else 'warm'} {name:8} {middle[name]:.2f} s ({min(times):.2f}-{max(times):.2f})")
    print(f"{'cold' if cold else 'warm'} ratio {middle['kitchen'] / middle['numpy']:.1f}")
