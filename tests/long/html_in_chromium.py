"""The HTML pages in a real browser: accessibility checked by axe-core, printed pages counted.

    python -m tests.long.html_in_chromium [AXE_MIN_JS]

Needs a Chromium on the path and either axe-core's axe.min.js or npm to fetch it. Every page is
checked in light and in dark, and at the width of a phone and of a desktop for anything that
reaches beyond the right edge. Exit 1 on a violation, on something cut, or where an athlete's page
prints on more than one sheet.
"""

import json
import re
import shutil
import subprocess
import sys
import tarfile
from html import unescape
from pathlib import Path
from tempfile import TemporaryDirectory

import pypdf

from tapmark.report.pages.cards import card_html, log_html
from tapmark.report.pages.group_page import group_html
from tapmark.report.pages.html import athlete_html, coach_html
from tests.report.made import english, made
from tests.report.test_group_page import squad

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
LIGHT_AND_DARK = {"light": 1, "dark": 0}  # Blink's preferredColorScheme
WIDTHS = (360, 1366)  # px
MEASURE = """
<script>
addEventListener("load", () => {
  const page = document.querySelector("iframe").contentDocument;
  const wide = page.documentElement.clientWidth;
  const far = [...page.querySelectorAll("body *")].filter(each => {
    const box = each.getBoundingClientRect();
    return box.width > 1.5 && box.right > wide + 1 && !each.closest(".hidden");
  });
  const told = document.createElement("pre");
  told.id = "cut";
  told.textContent = JSON.stringify(far.map(e => e.tagName + " " + e.textContent.slice(0, 30)));
  document.body.appendChild(told);
});
</script>
"""
RUN = """
axe.run(document, {resultTypes: ["violations"]}).then(found => {
  const told = document.createElement("pre");
  told.id = "axe";
  told.textContent = JSON.stringify(found.violations.map(v => [v.id, v.help, v.nodes.length]));
  document.body.appendChild(told);
});
"""


def pages() -> dict[str, tuple[str, bool]]:
    """Name -> HTML and whether it has to print on one sheet."""
    return {
        "athlete, one thing": (athlete_html(made(slots=(1,), since=3)), True),
        "athlete, two things": (athlete_html(made(slots=(8, 16), since=3)), True),
        "athlete, Letter": (athlete_html(made(slots=(1,), since=3, paper="letter")), True),
        "athlete under 18": (athlete_html(made(born=2009)), True),
        "athlete, keep this": (athlete_html(made("good")), True),
        "athlete under 12": (athlete_html(made("good", born=2016)), True),
        "athlete, pain": (athlete_html(made(pain="yes")), True),
        "coach": (coach_html(made(slots=(1,))), False),
        "group of 25": (group_html(squad(25)), False),
        "filming card": (card_html(english()), True),
        "filming card, Letter": (card_html(english(), "letter"), True),
        "shot log": (log_html(english(), ("K01", "K07")), True),
        "shot log, Letter": (log_html(english(), ("K01", "K07"), "letter"), True),
    }


def fetched_axe(folder: Path) -> str:
    """Return axe-core's script, fetched by npm."""
    subprocess.run(["npm", "pack", "--silent", "axe-core"], cwd=folder, check=True)
    (archive,) = folder.glob("axe-core-*.tgz")
    with tarfile.open(archive) as packed:
        script = packed.extractfile("package/axe.min.js")
        assert script is not None
        return script.read().decode()


def browse(browser: str, *words: str) -> str:
    """Run the browser once and return what it prints."""
    always = ["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"]
    done = subprocess.run(
        [browser, *always, *words], check=True, capture_output=True, encoding="utf-8", timeout=120
    )
    return done.stdout


def violations(browser: str, page: Path, axe: str, scheme: int) -> list[list[object]]:
    """Return [rule, help, how many places] of everything axe finds on a page."""
    text = page.read_text("utf-8")
    text = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", text)
    checked = page.with_suffix(".axe.html")
    scripts = f"<script>{axe}</script><script>{RUN}</script></body>"
    checked.write_text(text.replace("</body>", scripts), "utf-8")
    dom = browse(
        browser,
        f"--blink-settings=preferredColorScheme={scheme}",
        "--virtual-time-budget=20000",
        "--dump-dom",
        checked.as_uri(),
    )
    told = re.search(r'<pre id="axe">(.*?)</pre>', dom, re.S)
    assert told, "axe did not finish"
    found: list[list[object]] = json.loads(unescape(told[1]))
    return found


def cut_off(browser: str, page: Path, width: int) -> list[str]:
    """Return what reaches beyond the right edge of a window of that width."""
    frame = page.with_suffix(f".{width}.html")
    size = f"border:0;width:{width}px;height:3000px"
    frame.write_text(f'<body><iframe src="{page.as_uri()}" style="{size}"></iframe>{MEASURE}')
    dom = browse(
        browser,
        "--allow-file-access-from-files",
        f"--window-size={width + 40},3000",
        "--virtual-time-budget=20000",
        "--dump-dom",
        frame.as_uri(),
    )
    told = re.search(r'<pre id="cut">(.*?)</pre>', dom, re.S)
    assert told, "the page did not load"
    found: list[str] = json.loads(unescape(told[1]))
    return found


def printed_pages(browser: str, page: Path) -> int:
    """Return on how many sheets a page prints."""
    pdf = page.with_suffix(".pdf")
    browse(browser, "--no-pdf-header-footer", f"--print-to-pdf={pdf}", page.as_uri())
    return len(pypdf.PdfReader(pdf).pages)


def main(arguments: list[str]) -> int:
    """Check every page and print a line for each."""
    browser = next(filter(None, map(shutil.which, BROWSERS)), None)
    if browser is None:
        print(f"No browser found: install one of {', '.join(BROWSERS)}.")
        return 2
    n_bad = 0
    with TemporaryDirectory() as place:
        folder = Path(place)
        axe = Path(arguments[0]).read_text("utf-8") if arguments else fetched_axe(folder)
        for name, (text, is_one_sheet) in pages().items():
            page = folder / f"{name}.html"
            page.write_text(text, "utf-8")
            sheets = printed_pages(browser, page)
            found = {
                scheme: violations(browser, page, axe, number)
                for scheme, number in LIGHT_AND_DARK.items()
            }
            n_found = sum(map(len, found.values()))
            cut = {width: cut_off(browser, page, width) for width in WIDTHS}
            n_cut = sum(map(len, cut.values()))
            print(f"{name:22} {sheets} sheet(s) {n_found} violations {n_cut} cut")
            for width, each in cut.items():
                print("".join(f"    {width} px: {what}\n" for what in each[:5]), end="")
            for scheme, each in found.items():
                for rule, words, n_places in each:
                    print(f"    {scheme}: {rule} ({n_places}): {words}")
            n_bad += n_found + n_cut + (is_one_sheet and sheets != 1)
    return 1 if n_bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
