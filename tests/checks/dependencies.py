"""Checks every dependency: its licence against a list, and that none asks for a newer Rust than Cargo.toml promises.

    python3 tests/checks/dependencies.py

Reads `cargo metadata --locked --offline`: nothing is fetched, so the crates must have been fetched before. What packages
declare is believed; packages that declare nothing are counted. Says at the end whether the Rust of this run is the one
promised, so that what the run shows is shown for it.
"""

import json
import re
import subprocess
import sys

# Licences under which a program may pass on what it is built from, with their texts or a notice at most.
ALLOWED = {"MIT", "Apache-2.0", "Apache-2.0 WITH LLVM-exception", "BSD-2-Clause", "BSD-3-Clause", "ISC", "Zlib", "0BSD",
           "BSL-1.0", "CC0-1.0", "Unlicense", "Unicode-3.0", "MIT-0"}


def allowed(expression, licences=ALLOWED):
    """An SPDX expression holds if one side of each OR, and both sides of each AND, are allowed."""
    tokens = re.findall(r"\(|\)|[^\s()]+", expression.replace("/", " OR "))

    def choice():
        found = both()
        while tokens and tokens[0] == "OR":
            tokens.pop(0)
            found = both() or found
        return found

    def both():
        found = one()
        while tokens and tokens[0] == "AND":
            tokens.pop(0)
            found = one() and found
        return found

    def one():
        if tokens[0] == "(":
            tokens.pop(0)
            found = choice()
            tokens.pop(0)
            return found
        name = tokens.pop(0)
        if tokens and tokens[0] == "WITH":
            tokens.pop(0)
            name += " WITH " + tokens.pop(0)
        return name in licences

    found = choice()
    return found and not tokens


def version(text):
    return tuple(int(part) for part in (text + ".0.0").split(".")[:3])


for text, want in [("MIT OR GPL-3.0", True), ("MIT AND GPL-3.0", False), ("(MIT OR X) AND ISC", True), ("MIT/Apache-2.0", True), ("X", False)]:
    assert allowed(text) == want, text

# The engine of the fuzzing is built for nobody but the fuzzing, so its licence may be one of LLVM's former ones.
OF_FUZZING = {"NCSA"}


def checked(manifest, more):
    """Checks all packages of a manifest; returns its faults."""
    command = ["cargo", "metadata", "--locked", "--offline", "--format-version", "1", "--manifest-path", manifest]
    data = json.loads(subprocess.run(command, capture_output=True, text=True, check=True).stdout)
    own = [p for p in data["packages"] if p["name"].startswith("putby")]
    promised = next(p["rust_version"] for p in own if p["name"] == "putby")
    faults, newest, silent = [], ("0", "none"), 0
    for package in data["packages"]:
        name = f"{package['name']} {package['version']}"
        licence = package["license"]
        if not licence or not allowed(licence, ALLOWED | more):
            faults.append(f"{name}: licence {licence!r} is not on the list")
        if package in own:
            continue
        if package["source"] is None or not package["source"].startswith("registry+"):
            faults.append(f"{name}: comes from {package['source']}, not from the registry")
        rust = package["rust_version"]
        if not rust:
            silent += 1
            continue
        newest = max(newest, (rust, name), key=lambda pair: version(pair[0]))
        if version(rust) > version(promised):
            faults.append(f"{name}: asks for Rust {rust}, Cargo.toml promises {promised}")
    print(f"{manifest}: {len(data['packages'])} packages; the newest Rust asked for is {newest[0]}, by {newest[1]}; "
          f"{silent} do not say; {len(faults)} faults")
    return faults, promised


faults, promised = checked("Cargo.toml", set())
faults += checked("tests/fuzz/Cargo.toml", OF_FUZZING)[0]
# What is promised is the oldest Rust that everything has been run with, so say whether this run is one with it.
running = subprocess.run(["rustc", "--version"], capture_output=True, text=True, check=True).stdout.split()[1]
if version(running)[:2] == version(promised)[:2]:
    print(f"this run's Rust is {running}: the oldest that Cargo.toml promises")
else:
    print(f"this run's Rust is {running}; that {promised} does, which Cargo.toml promises, is for a run with {promised} to show")
sys.exit("\n".join(faults) if faults else 0)
