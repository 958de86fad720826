"""Breaks off or disturbs every writing command at each of its system calls, and looks at what stands.

    python3 tests/checks/faults.py PROGRAM [SECONDS]

Works with strace, which stops the program with SIGKILL as it enters a given call, or lets that call fail. Memory and
thread calls are left alone: between two calls that touch files nothing on the disk changes. After each fault, what
`putby check` finds in the folder must be the files of before or the files of after, byte for byte, with nothing lying
about; from before, the command must then reach after. Answers and charts (-o, --chart) must be the old file or the new.
Every point is tried where SECONDS suffice, else points evenly spread; the table says how many.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor

PROGRAM = os.path.abspath(sys.argv[1])
SECONDS = float(sys.argv[2]) if len(sys.argv) > 2 else 150.0
FILE_CALLS = ["open", "openat", "read", "write", "close", "fsync", "fdatasync", "rename", "renameat", "renameat2",
              "unlink", "unlinkat", "link", "linkat", "mkdir", "mkdirat", "chmod", "fchmod", "fchmodat", "ftruncate",
              "flock", "fcntl", "stat", "lstat", "fstat", "statx", "newfstatat", "getdents64", "readlink", "lseek"]
ERRORS = {"openat": ["EROFS", "ENOSPC"], "write": ["ENOSPC"], "fsync": ["EIO"], "rename": ["ENOSPC", "EIO"],
          "renameat2": ["EIO"], "fchmod": ["EPERM"], "unlink": ["EROFS"], "flock": ["ENOLCK"], "mkdir": ["EROFS"]}
DAY = ["--as-of", "2026-07-13"]
FEW = ["--draws", "40"]
LOG = ["log", "picked today okra 1 lb; put 3 frozen beans; frost last night 29 F", *DAY]
TEMPORARY = re.compile(r"\.putby-[A-Za-z0-9]+\.(tmp|part)$")


def run(folder, arguments, inject=None, trace=None):
    """Runs the program in a folder, perhaps with a fault; returns exit code, standard output and error."""
    command = [PROGRAM, *arguments]
    if inject or trace:
        calls = inject.split(":")[0] if inject else ",".join("?" + c for c in FILE_CALLS)
        extra = ["-e", "inject=" + inject] if inject else []
        command = ["strace", "-f", "--seccomp-bpf", "-qq", "-o", trace or "/dev/null", "-e", "trace=" + calls, *extra, *command]
    done = subprocess.run(command, cwd=folder, stdin=subprocess.DEVNULL, capture_output=True, timeout=60)
    return done.returncode, done.stdout, done.stderr


def content(folder):
    """All files of a folder, hidden ones too, by name."""
    found = {}
    for base, _, names in os.walk(folder):
        for name in names:
            with open(os.path.join(base, name), "rb") as file:
                found[os.path.relpath(os.path.join(base, name), folder)] = file.read()
    return found


def sample(folder):
    assert run(folder, ["start", "--from-sample", *DAY])[0] == 0


def undated(folder):
    """Dates and numbers as people write them, in two files."""
    sample(folder)
    for name, old, new in [("picked.csv", b"2026-06-", b"6/"), ("plantings.csv", b"2026-05-", b"5/")]:
        path = os.path.join(folder, name)
        with open(path, "rb") as file:
            text = file.read()
        day = re.search(old + rb"([12][3-9])", text)
        assert day, name
        text = text.replace(day.group(0), new + day.group(1) + b"/2026")
        with open(path, "wb") as file:
            file.write(text)


def logged(folder):
    sample(folder)
    assert run(folder, LOG)[0] == 0


def unlogged(folder):
    sample(folder)
    for name in ["picked.csv", "stores.csv", "events.csv"]:
        os.remove(os.path.join(folder, name))


def answered(folder):
    sample(folder)
    for name in ["answer.csv", "chart.svg"]:
        with open(os.path.join(folder, name), "w") as file:
            file.write("of the last time\n")


# Name, what stands before, arguments, and whether the files may each be old or new.
SCENES = [
    ("log", sample, LOG, False),
    ("log, first rows", unlogged, LOG, False),
    ("log, one file", sample, ["log", "okra 1 lb", *DAY], False),
    ("log undo", logged, ["log", "undo", *DAY], False),
    ("check --fix", undated, ["check", "--fix", *DAY, *FEW], False),
    ("learn --write", sample, ["learn", "--write", *DAY, *FEW], False),
    ("sow plan --write", sample, ["sow", "plan", "spinach", "lettuce", "--write", *DAY, *FEW], False),
    ("start", lambda folder: None, ["start", "--all", *DAY], False),
    ("-o, --chart", answered, ["when", "--format", "csv", "-o", "answer.csv", "--chart", "chart.svg", *DAY, *FEW], True),
]


def points(trace):
    """The calls of the main thread from the first that changes the disk on, as name and which of its name it is."""
    counts, found, begun, main = {}, [], False, None
    with open(trace, errors="replace") as file:
        for line in file:
            call = re.match(r"(\d+) +([a-z_0-9]+)\((.*)", line)
            if not call:
                continue
            main = main or call.group(1)
            if call.group(1) != main:
                continue
            name = call.group(2)
            counts[name] = counts.get(name, 0) + 1
            begun = begun or "O_CREAT" in line or name.startswith(("mkdir", "rename", "unlink"))
            if begun:
                found.append((name, counts[name]))
    return found


class Scene:
    def __init__(self, base, number, scene):
        self.name, prepare, self.arguments, self.each = scene
        self.base = os.path.join(base, str(number))
        self.start = os.path.join(self.base, "before")
        os.makedirs(self.start)
        prepare(self.start)
        self.before = content(self.start)
        whole = self.copy("whole")
        self.exit, _, errors = run(whole, self.arguments)
        assert self.exit in (0, 1), (self.name, self.exit, errors)
        self.after = content(whole)
        assert self.after != self.before, self.name
        trace = os.path.join(self.base, "trace")
        run(self.copy("traced"), self.arguments, trace=trace)
        calls = points(trace)
        assert len(calls) > 8, (self.name, calls)
        self.faults = [f"{name}:signal={signal}:when={n}" for name, n in calls for signal in ("KILL",)]
        self.faults += [f"{name}:signal=INT:when={n}" for name, n in calls[::7]]
        for name, n in calls:
            for error in ERRORS.get(name, []):
                self.faults += [f"{name}:error={error}:when={n}", f"{name}:error={error}:when={n}+"]

    def copy(self, name):
        folder = os.path.join(self.base, name.replace(":", "_"))
        shutil.copytree(self.start, folder)
        return folder

    def well(self, found):
        if self.each:
            return all(found.get(n) in (self.before.get(n), self.after.get(n)) for n in {*found, *self.before, *self.after}
                       if not TEMPORARY.search(n))
        return found in (self.before, self.after)

    def tried(self, fault):
        """Tries one fault; returns what is wrong, and how it came out."""
        folder = self.copy(fault)
        code, _, errors = run(folder, self.arguments, inject=fault)
        faults = []
        if "error=" in fault:
            if code not in (0, 1, 3) or b"fault of putby" in errors:
                faults.append(f"exit {code}: {errors.decode(errors='replace').strip()}")
            # A note that could not be removed says that all is done.
            now = {n: c for n, c in content(folder).items() if n != ".putby-unfinished" and not TEMPORARY.search(n)}
            if not self.well(now) and "finishes the writing" not in errors.decode():
                faults.append("between before and after")
        check = run(folder, ["check", *DAY, *FEW])
        found = content(folder)
        if self.name != "start" and check[0] not in (0, 1):
            undone = self.name == "check --fix" and found == self.before
            if not undone:
                faults.append(f"check: {check[2].decode(errors='replace').strip()}")
        if not self.well(found):
            differ = [n for n in {*found, *self.before, *self.after} if found.get(n) not in (self.before.get(n), self.after.get(n))]
            faults.append(f"between before and after, or left over: {sorted(differ) or sorted(found)}")
        if "error=" in fault and code in (0, 1) and not self.each and found != self.after:
            faults.append("said it was done, and it is not")
        came_out = "after" if found == self.after else "before"
        if came_out == "before":
            again = run(folder, self.arguments)
            now = {n: c for n, c in content(folder).items() if not TEMPORARY.search(n)}
            if again[0] != self.exit or now != self.after:
                faults.append(f"the next run does not reach after: exit {again[0]}, {again[2].decode(errors='replace').strip()}")
        shutil.rmtree(folder)
        return fault, faults, came_out


def main():
    begun = time.monotonic()
    base = tempfile.mkdtemp()
    bad = 0
    try:
        scenes = [Scene(base, i, scene) for i, scene in enumerate(SCENES)]
        # One fault of each scene tells how long one takes.
        clock = time.monotonic()
        pace = []
        for scene in scenes:
            scene.tried(scene.faults.pop(len(scene.faults) // 2))
            pace.append(time.monotonic() - clock)
            clock = time.monotonic()
        workers = os.cpu_count() or 1
        share = (SECONDS - (clock - begun)) / len(scenes) * workers
        spare = 0.0
        print(f"{'command':<20}{'points':>8}{'tried':>8}{'before':>8}{'after':>8}{'faults':>8}")
        with ThreadPoolExecutor(workers) as pool:
            for scene, one in sorted(zip(scenes, pace), key=lambda s: len(s[0].faults) * s[1]):
                may = max(int((share + spare) / max(one, 0.01)), 10)
                step = max(1, -(-len(scene.faults) // may))
                chosen = scene.faults[::step]
                started = time.monotonic()
                results = list(pool.map(scene.tried, chosen))
                spare += share - (time.monotonic() - started) * workers
                wrong = [r for r in results if r[1]]
                ends = [r[2] for r in results]
                print(f"{scene.name:<20}{len(scene.faults):>8}{len(chosen):>8}{ends.count('before'):>8}{ends.count('after'):>8}{len(wrong):>8}", flush=True)
                for fault, words, _ in wrong:
                    print(f"    {fault}: {'; '.join(words)}")
                bad += len(wrong)
    finally:
        shutil.rmtree(base, ignore_errors=True)
    print(f"{time.monotonic() - begun:.0f} s")
    sys.exit(1 if bad else 0)


main()
