"""Drives a real browser without a window over the pages of `putby report`.

Usage: page.py PUTBY [--keep FOLDER]

Needs Python and Chromium (found on the path as `chromium`, `chromium-browser` or `google-chrome`, or named by CHROMIUM).
Speaks the browser's own remote protocol over a pipe, so that nothing else has to be installed. For the sample garden, a
hostile one and a crowded one it checks at three widths, light and dark: nothing wider than the screen, no message in the
console, nothing loaded, no script, contrast of at least 4.5 (WCAG 2.2, success criterion 1.4.3), the skip link first in
line for the keyboard; and on A4 and US Letter that every sheet takes exactly one side.
"""

import base64
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

WIDTHS = (360, 768, 1280)
PAPERS = {"A4": (210 / 25.4, 297 / 25.4), "Letter": (8.5, 11.0)}
HOSTILE = "<script>alert(1)</script> \" ' & <b>x</b> `"


class Browser:
    """A browser without a window, spoken to through two pipes."""

    def __init__(self, program, profile):
        to_browser, self.out = os.pipe()
        self.inn, from_browser = os.pipe()

        def wire():
            # High numbers first: the ends of the pipes may themselves be 3 or 4.
            os.dup2(to_browser, 30)
            os.dup2(from_browser, 31)
            os.dup2(30, 3)
            os.dup2(31, 4)

        self.process = subprocess.Popen(
            [program, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
             "--disable-background-networking", "--disable-component-update", "--disable-sync",
             "--disable-dev-shm-usage", "--remote-debugging-pipe", f"--user-data-dir={profile}"],
            preexec_fn=wire, close_fds=False, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(to_browser)
        os.close(from_browser)
        self.buffer = b""
        self.number = 0
        self.events = []
        target = self.ask("Target.createTarget", {"url": "about:blank"}, None)["targetId"]
        attached = self.ask("Target.attachToTarget", {"targetId": target, "flatten": True}, None)
        self.session = attached["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.ask(f"{domain}.enable")

    def ask(self, method, parameters=None, session=""):
        self.number += 1
        message = {"id": self.number, "method": method, "params": parameters or {}}
        if session == "":
            message["sessionId"] = self.session
        os.write(self.out, json.dumps(message).encode() + b"\0")
        while True:
            answer = self.read()
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                return answer["result"]
            self.events.append(answer)

    def read(self):
        while b"\0" not in self.buffer:
            piece = os.read(self.inn, 1 << 16)
            if not piece:
                raise RuntimeError("the browser went away")
            self.buffer += piece
        line, self.buffer = self.buffer.split(b"\0", 1)
        return json.loads(line)

    def wait(self, method):
        while not any(e.get("method") == method for e in self.events):
            self.events.append(self.read())

    def open(self, path, width=1280, dark=False, paper=False):
        self.events.clear()
        self.ask("Emulation.setDeviceMetricsOverride",
                 {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500})
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.ask("Emulation.setEmulatedMedia", {"media": "print" if paper else "", "features": [scheme]})
        self.ask("Page.navigate", {"url": path.as_uri()})
        self.wait("Page.loadEventFired")

    def value(self, expression):
        answer = self.ask("Runtime.evaluate", {"expression": expression, "returnByValue": True})
        if "exceptionDetails" in answer:
            raise RuntimeError(f"{answer['exceptionDetails']}")
        return answer["result"].get("value")

    def press(self, key):
        for kind in ("rawKeyDown", "keyUp"):
            code = {"Tab": 9, "Enter": 13}[key]
            self.ask("Input.dispatchKeyEvent",
                     {"type": kind, "key": key, "code": key, "windowsVirtualKeyCode": code})

    def print(self, paper):
        width, height = PAPERS[paper]
        answer = self.ask("Page.printToPDF", {
            "paperWidth": width, "paperHeight": height, "printBackground": False, "preferCSSPageSize": False,
            "marginTop": 0.4, "marginBottom": 0.4, "marginLeft": 0.4, "marginRight": 0.4})
        return base64.b64decode(answer["data"])

    def picture(self):
        size = self.ask("Page.getLayoutMetrics")["cssContentSize"]
        clip = {"x": 0, "y": 0, "width": size["width"], "height": min(size["height"], 8000), "scale": 1}
        return base64.b64decode(self.ask("Page.captureScreenshot", {"captureBeyondViewport": True, "clip": clip})["data"])

    def close(self):
        self.ask("Browser.close", None, None)
        self.process.wait(timeout=20)


# Everything the browser counts itself, so that this file only compares.
WIDER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
SHAPE = """({
  scripts: document.scripts.length,
  first: document.querySelectorAll('h1').length,
  svgs: document.querySelectorAll('svg').length,
  told: document.querySelectorAll('figure svg[role=img][aria-label]:has(> title):has(> desc)').length,
  behind: document.querySelectorAll('figure:has(details table) svg').length,
  tables: document.querySelectorAll('table').length,
  captions: document.querySelectorAll('table > caption').length,
  sheets: document.querySelectorAll('.sheet').length,
  words: document.body.textContent,
})"""
PALE = """(() => {
  const parse = c => (c.match(/[\\d.]+/g) || []).map(Number);
  const light = c => { const [r, g, b] = c.map(v => { v /= 255; return v <= .03928 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4; });
    return .2126 * r + .7152 * g + .0722 * b; };
  const behind = e => { for (; e; e = e.parentElement) {
    if (e.tagName === 'svg') { const r = e.querySelector('rect'); if (r) return parse(getComputedStyle(r).fill); }
    const c = parse(getComputedStyle(e).backgroundColor); if (c.length === 3 || c[3] > 0) return c; } return [255, 255, 255]; };
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) { const node = walk.currentNode, e = node.parentElement;
    if (!node.data.trim() || ['title', 'desc', 'TITLE', 'STYLE'].includes(e.tagName)) continue;
    const style = getComputedStyle(e), ink = parse(e.closest('svg') ? style.fill : style.color);
    const [a, b] = [light(ink.slice(0, 3)), light(behind(e).slice(0, 3))].sort((x, y) => y - x);
    const ratio = (a + .05) / (b + .05); if (ratio < 4.5) found.push(node.data.trim().slice(0, 40) + ' ' + ratio.toFixed(2)); }
  return found; })()"""
# The smallest type of the charts that are shown, in pixels of the screen.
SMALL = """(() => { let least = 99;
  for (const t of document.querySelectorAll('svg text')) { const svg = t.closest('svg'), box = svg.getBoundingClientRect();
    if (box.width) least = Math.min(least, parseFloat(getComputedStyle(t).fontSize) * box.width / svg.viewBox.baseVal.width); }
  return least; })()"""
SKIP = "document.activeElement.className + ' ' + (document.activeElement.getBoundingClientRect().left >= 0)"
BAD = ("Runtime.exceptionThrown", "Runtime.consoleAPICalled", "Log.entryAdded")


def look(browser, path, words, keep, faults):
    """Looks at a page at every width, light and dark, and says what is wrong with it."""
    def wrong(what):
        faults.append(f"{path.name}: {what}")

    for width in WIDTHS:
        for dark in (False, True):
            at = f"{width} px {'dark' if dark else 'light'}"
            browser.open(path, width, dark)
            if browser.value(WIDER) > 0:
                wrong(f"{at}: wider than the screen by {browser.value(WIDER)} px")
            if width == min(WIDTHS) and browser.value(SMALL) < 11:
                wrong(f"{at}: type of {browser.value(SMALL):.1f} px in a chart")
            for pale in browser.value(PALE):
                wrong(f"{at}: too pale: {pale}")
            for event in browser.events:
                if event.get("method") in BAD:
                    wrong(f"{at}: in the console: {json.dumps(event['params'])[:200]}")
                if event.get("method") == "Network.requestWillBeSent":
                    url = event["params"]["request"]["url"]
                    if url != path.as_uri():
                        wrong(f"{at}: asks for {url}")
            if keep:
                (keep / f"{path.stem}-{width}{'-dark' if dark else ''}.png").write_bytes(browser.picture())
    shape = browser.value(SHAPE)
    if shape["scripts"] or shape["first"] != 1:
        wrong(f"{shape['scripts']} scripts, {shape['first']} first headings")
    if not shape["svgs"] == shape["told"] == shape["behind"]:
        wrong(f"{shape['svgs']} charts, {shape['told']} of them told in words, {shape['behind']} with figures")
    if shape["tables"] != shape["captions"]:
        wrong(f"{shape['tables']} tables, {shape['captions']} captions")
    for word in words:
        if word not in shape["words"]:
            wrong(f"does not show {word}")
    browser.press("Tab")
    if browser.value(SKIP) != "skip true":
        wrong(f"the first stop of the keyboard is {browser.value(SKIP)}")
    browser.press("Enter")
    if browser.value("location.hash") != "#main":
        wrong("the skip link leads nowhere")
    return shape


def sides(browser, path, keep):
    """Prints a page on each paper and counts the sides."""
    counts = {}
    for paper in PAPERS:
        browser.open(path)
        pdf = browser.print(paper)
        counts[paper] = len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))
        if keep:
            (keep / f"{path.stem}-{paper}.pdf").write_bytes(pdf)
    return counts


def gardens(folder):
    """Makes the gardens: name, how putby is told of it, words its page must show."""
    site = '[site]\nname = "{}"\nlatitude_deg = 38\naltitude_ft = 600\n[frost]\nlast_spring = "04-20"\nfirst_fall = "10-18"\n'
    made = []
    for name, rows, shown in (
        ("hostile", [HOSTILE.replace("`", f"{i}") for i in range(3)], HOSTILE[:-2]),
        ("crowded", [f"planting with quite a long name number {i}" for i in range(60)], "quite a long name"),
    ):
        here = folder / name
        here.mkdir()
        title = (HOSTILE if name == "hostile" else "Crowded garden (invented)").replace('"', '\\"')
        toml = 'as_of = "2026-07-27"\n' + site.format(title)
        (here / "garden.toml").write_text(toml + "[kitchen]\nhours = { wed = 3, sat = 6 }\n")
        crops = ["bush bean", "tomato", "kale", "okra", "cucumber", "chard"]
        lines = ["planting,bed,crop,sown,row_ft"]
        for i, row in enumerate(rows):
            quoted = row.replace('"', '""')
            lines.append(f'"{quoted}","bed {i % 20} {quoted[:30]}",{crops[i % len(crops)]},2026-05-{1 + i % 28:02},20')
        (here / "plantings.csv").write_text("\n".join(lines) + "\n")
        made.append((name, ["-g", str(here)], [shown]))
    return [("sample", ["--sample"], [])] + made


def main():
    putby = Path(sys.argv[1]).resolve()
    keep = Path(sys.argv[sys.argv.index("--keep") + 1]).resolve() if "--keep" in sys.argv else None
    names = [os.environ.get("CHROMIUM"), "chromium", "chromium-browser", "google-chrome"]
    program = next((found for name in names if name and (found := shutil.which(name))), None)
    if not program:
        sys.exit("There is no Chromium on this machine; install one or name it in CHROMIUM.")
    faults = []
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as scratch:
        scratch = Path(scratch)
        browser = Browser(program, scratch / "profile")
        for name, told, words in gardens(scratch):
            for kind, more in (("page", []), ("sheets", ["--sheets"])):
                path = scratch / f"{name}-{kind}.html"
                subprocess.run([putby, "report", *told, *more, "--draws", "1000", "-o", path], check=True)
                shape = look(browser, path, words, keep, faults)
                counts = sides(browser, path, keep)
                print(f"{path.name}: {path.stat().st_size // 1024} KiB, {shape['svgs']} charts, {shape['tables']} tables, sides {counts}")
                if kind == "sheets" and any(n != shape["sheets"] for n in counts.values()):
                    faults.append(f"{path.name}: {shape['sheets']} sheets take {counts} sides")
                if keep:
                    shutil.copy(path, keep)
        browser.close()
    print("\n".join(faults) if faults else "all as it should be")
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
