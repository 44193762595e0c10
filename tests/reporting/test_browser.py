"""The HTML report in a real Chromium: on screens, on paper, by keyboard, for assistive tools."""

from __future__ import annotations

import copy
import re
import shutil
import subprocess
import tarfile

import pytest
from playwright.sync_api import sync_playwright

from refsolver.reporting.pdf import write_pdf
from refsolver.reporting.views import write_reports

pytestmark = pytest.mark.browser

AXE = "axe-core@4.10.3"
"""A checker of accessibility rules (WCAG), by Deque, MPL-2.0; fetched for these tests only."""


@pytest.fixture(scope="module")
def report(_record, tmp_path_factory):
    return write_reports(_record, tmp_path_factory.mktemp("report"))[0]


@pytest.fixture(scope="module")
def browser(chromium):
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield running
        running.close()


@pytest.fixture
def open_page(browser, report):
    """Opens the report in a window of its own; records console messages, errors and requests."""
    pages = []

    def opened(width=1280, **options):
        page = browser.new_page(viewport={"width": width, "height": 900}, **options)
        pages.append(page)
        page.seen = []
        page.on("console", lambda message: page.seen.append(message.text))
        page.on("pageerror", lambda error: page.seen.append(str(error)))
        page.on("request", lambda r: page.seen.append(r.url) if r.url != report.as_uri() else 0)
        page.goto(report.as_uri())
        return page

    yield opened
    for page in pages:
        page.close()


@pytest.mark.parametrize("width", [360, 820, 1440])
def test_no_width_overflows_and_nothing_is_asked_of_the_network(open_page, width):
    page = open_page(width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.seen == []


def test_filter_by_verdict_family_and_text(open_page, _record):
    page = open_page()
    cases = page.locator("article.case")
    everything = cases.count()
    page.locator("#filter input[value=error]").wait_for()
    for verdict in ("pass", "fail", "no answer", "refused", "not applicable"):
        page.locator(f"#filter input[value='{verdict}']").uncheck()
    assert page.locator("article.case:visible").count() == 1
    assert "entries shown" in page.locator("#filter output").inner_text()
    for verdict in ("pass", "fail", "no answer", "refused", "not applicable"):
        page.locator(f"#filter input[value='{verdict}']").check()
    page.locator("#filter select").select_option("components/oblique")
    assert page.locator("article.case:visible").count() == 0
    page.locator("#filter select").select_option("")
    page.locator("#filter input[type=search]").fill("FOUR lines at")
    assert page.locator("article.case:visible").count() == 1
    page.emulate_media(media="print")
    assert page.locator("article.case:visible").count() == everything


def test_a_table_sorts_by_keyboard_and_says_so(open_page):
    page = open_page()
    table = page.locator("table.sortable").first
    head = table.locator("thead th", has_text="Share")
    head.locator("button").focus()
    page.keyboard.press("Enter")
    assert head.get_attribute("aria-sort") == "ascending"
    place = table.locator("thead th").all_inner_texts().index(head.inner_text())
    texts = [row[place] for row in table.locator("tbody tr").evaluate_all(
        "rows => rows.map(row => [...row.cells].map(cell => cell.textContent.trim()))"
    )]  # fmt: skip
    numbers = [float(text.replace(",", "")) for text in texts if text != "—"]
    assert numbers == sorted(numbers)
    assert len(numbers) > 3
    page.keyboard.press("Enter")
    assert head.get_attribute("aria-sort") == "descending"


def test_everything_is_readable_without_javascript(open_page):
    page = open_page(java_script_enabled=False)
    assert not page.locator("#filter").is_visible()
    assert page.locator("article.case:visible").count() == page.locator("article.case").count() > 0
    assert page.locator("table button").count() == 0


@pytest.mark.parametrize(("paper", "size"), [("A4", (595, 842)), ("letter", (612, 792))])
def test_every_page_on_paper_bears_record_hash_and_number(
    chromium, report, _record, tmp_path, paper, size
):
    if shutil.which("pdfinfo") is None:
        pytest.skip("poppler-utils is not installed")
    made = tmp_path / "report.pdf"
    write_pdf(report, made, paper=paper)
    info = subprocess.run(["pdfinfo", made], capture_output=True, text=True, check=True).stdout
    facts = dict(line.split(":", 1) for line in info.splitlines() if ":" in line)
    wide, high = (float(x) for x in facts["Page size"].split()[:3:2])
    assert (round(wide), round(high)) == size
    count = int(facts["Pages"])
    assert 5 < count < 25
    text = subprocess.run(
        ["pdftotext", "-layout", made, "-"], capture_output=True, text=True
    ).stdout
    pages = text.split("\f")[:-1]
    assert len(pages) == count
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {count}" in page
        assert f"record {_record['identity']['content'][:12]}" in page
        assert f"SHA-256 {_record['identity']['content']}" in page
    plain = subprocess.run(["pdftotext", "-l", "1", made, "-"], capture_output=True, text=True)
    front = " ".join(plain.stdout.split())
    for said in ("not met", "rope-on-a-crane", "nothing was compared", "called by this suite"):
        assert said in front


def test_long_tables_have_their_heads_on_every_page(chromium, _record, tmp_path):
    if shutil.which("pdftotext") is None:
        pytest.skip("poppler-utils is not installed")
    record = copy.deepcopy(_record)
    cases = record["content"]["cases"]
    case = next(c for c in cases.values() if any(f["verdict"] == "pass" for f in c["findings"]))
    passing = next(f for f in case["findings"] if f["verdict"] == "pass")
    case["findings"] += [passing] * 150
    record["content"]["counts"]["readings"]["pass"] += 150
    record["content"]["counts"]["total"] += 150
    made = tmp_path / "report.pdf"
    write_pdf(write_reports(record, tmp_path)[0], made)
    text = subprocess.run(
        ["pdftotext", "-layout", made, "-"], capture_output=True, text=True
    ).stdout
    pages = [p for p in text.split("\f") if p.count(passing["reported"]) > 20]
    assert len(pages) > 2
    for page in pages:
        assert re.search(r"Output +Reported +Reference", page)


@pytest.fixture(scope="session")
def axe(request, tmp_path_factory):
    """The text of axe-core, fetched once into pytest's cache."""
    if shutil.which("npm") is None:
        pytest.skip("npm is needed to fetch axe-core")
    cache = getattr(request.config, "cache", None)
    folder = cache.mkdir("axe") if cache else tmp_path_factory.mktemp("axe")
    script = folder / "axe.min.js"
    if not script.exists():
        try:
            command = ["npm", "pack", AXE, "--silent", "--pack-destination", str(folder)]
            subprocess.run(command, capture_output=True, timeout=60, check=True)
            with tarfile.open(next(folder.glob("axe-core-*.tgz"))) as package:
                member = package.extractfile("package/axe.min.js")
                script.write_bytes(member.read())
        except (subprocess.SubprocessError, OSError, StopIteration):
            pytest.skip("axe-core could not be fetched from the npm registry")
    return script.read_text(encoding="utf-8")


@pytest.mark.slow
@pytest.mark.parametrize("width", [360, 1280])
def test_no_accessibility_rule_is_broken(open_page, axe, width):
    page = open_page(width)
    page.evaluate(axe)
    broken = page.evaluate("axe.run().then(result => result.violations)")
    assert [(b["id"], [n["html"][:120] for n in b["nodes"][:3]]) for b in broken] == []
