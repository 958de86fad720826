"""Checks every dependency: its licence against a list, and that none asks for a newer Rust than Cargo.toml promises.

    python3 tests/checks/dependencies.py

Reads `cargo metadata --locked --offline`: nothing is fetched, so the crates must have been fetched before.
"""

import json
import re
import subprocess
import sys

# Licences under which a program may pass on what it is built from, with their texts or a notice at most.
ALLOWED = {"MIT", "Apache-2.0", "Apache-2.0 WITH LLVM-exception", "BSD-2-Clause", "BSD-3-Clause", "ISC", "Zlib", "0BSD",
           "BSL-1.0", "CC0-1.0", "Unlicense", "Unicode-3.0", "MIT-0"}


def allowed(expression):
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
        return name in ALLOWED

    found = choice()
    return found and not tokens


def version(text):
    return tuple(int(part) for part in (text + ".0.0").split(".")[:3])


for text, want in [("MIT OR GPL-3.0", True), ("MIT AND GPL-3.0", False), ("(MIT OR X) AND ISC", True), ("MIT/Apache-2.0", True), ("X", False)]:
    assert allowed(text) == want, text

data = json.loads(subprocess.run(["cargo", "metadata", "--locked", "--offline", "--format-version", "1"],
                                 capture_output=True, text=True, check=True).stdout)
own = next(p for p in data["packages"] if p["name"] == "putby")
faults, newest = [], ("0", "none")
for package in data["packages"]:
    name = f"{package['name']} {package['version']}"
    licence = package["license"]
    if not licence or not allowed(licence):
        faults.append(f"{name}: licence {licence!r} is not on the list")
    if package is own:
        continue
    if package["source"] is None or not package["source"].startswith("registry+"):
        faults.append(f"{name}: comes from {package['source']}, not from the registry")
    rust = package["rust_version"]
    if rust:
        newest = max(newest, (rust, name), key=lambda pair: version(pair[0]))
        if version(rust) > version(own["rust_version"]):
            faults.append(f"{name}: asks for Rust {rust}, Cargo.toml promises {own['rust_version']}")
print(f"{len(data['packages'])} packages; the newest Rust asked for is {newest[0]}, by {newest[1]}; {len(faults)} faults")
sys.exit("\n".join(faults) if faults else 0)
