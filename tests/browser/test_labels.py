"""Sheets of labels and cards, printed by a real browser: paper of the right size, as many pages as sheets, words that
can be read back, bars as long as they say.

Sizes of paper: Letter is size A of ANSI/ASME Y14.1, 8.5 by 11 in., 612 by 792 pt; A4 is ISO 216, 210 by 297 mm,
595.3 by 841.9 pt. Poppler's pdfinfo, pdftotext and pdftoppm read what Chromium printed.
"""

import pathlib
import re
import subprocess
import xml.etree.ElementTree

import pytest

import desk

PICTURES = pathlib.Path("target/screens")
SVG = "{http://www.w3.org/2000/svg}"
PAPER = {"letter": (612, 792), "a4": (595, 842)}

# Words over words, or words out of their sheet, measured with the letters that the browser really has.
MEASURED = """
const bad = [];
for (const sheet of document.querySelectorAll('.sheet > svg')) {
  const view = sheet.viewBox.baseVal;
  const all = [...sheet.querySelectorAll('text')].map((e) => ({e, box: e.getBBox(), size: +e.getAttribute('font-size')}));
  for (const {e, box} of all) {
    if (box.x < 12 || box.x + box.width > view.width - 12) bad.push('out of its sheet: ' + e.textContent);
  }
  // Boxes of words reach from the highest to the lowest letter of a font: half of a line is enough.
  const core = ({box, size}) => ({l: box.x, r: box.x + box.width, t: box.y + box.height / 2 - size / 4, b: box.y + box.height / 2 + size / 4});
  for (let i = 0; i < all.length; i++) for (let j = i + 1; j < all.length; j++) {
    const a = core(all[i]), b = core(all[j]);
    if (a.l < b.r - .3 && b.l < a.r - .3 && a.t < b.b && b.t < a.b) bad.push(all[i].e.textContent + ' over ' + all[j].e.textContent);
  }
}
return bad;
"""


def run(*words):
    return subprocess.run([str(word) for word in words], check=True, capture_output=True, text=True).stdout


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    """The demo job in its morning, when labels are planned and not written yet."""
    folder = tmp_path_factory.mktemp("labels") / "job"
    run(desk.BOXPROOF, "demo", folder, "--until", "morning")
    return folder


def labels(job, out, *words):
    return run(desk.BOXPROOF, "labels", job, "--out", out, *words).split()


def printed(page, tmp_path):
    """What a browser prints of a file."""
    pdf = tmp_path / "printed.pdf"
    profile = tmp_path / "profile"
    run(
        "/usr/bin/chromium",
        "--headless=new",
        "--no-sandbox",
        "--disable-gpu",
        "--no-first-run",
        f"--user-data-dir={profile}",
        "--no-pdf-header-footer",
        f"--print-to-pdf={pdf}",
        page.resolve().as_uri(),
    )
    return pdf


def sheets_in(text):
    return [e for e in xml.etree.ElementTree.fromstring(text).iter(f"{SVG}svg")]


@pytest.mark.parametrize("what", ["open", "flags", "cards", "plates"])
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_browser_prints_one_page_for_each_sheet(job, tmp_path, paper, what):
    page = tmp_path / "labels.html"
    labels(job, page, "--paper", paper, "--what", what)
    sheets = sheets_in(page.read_text())
    assert sheets
    pdf = printed(page, tmp_path)
    about = run("pdfinfo", "-f", "1", "-l", "99", pdf)
    sizes = [tuple(map(float, size)) for size in re.findall(r"Page +\d+ size: +([\d.]+) x ([\d.]+) pts", about)]
    assert len(sizes) == len(sheets), about
    for size in sizes:
        assert all(abs(is_ - wanted) <= 1 for is_, wanted in zip(size, PAPER[paper])), (size, PAPER[paper])
    text = " ".join(run("pdftotext", "-layout", pdf, "-").split())
    for word in {"open": ["SW LEG", "NEUT B5", "B3", "sheet 1 of"], "flags": ["HOT IN", "TRAV 1", "sheet 1 of"],
                 "cards": ["foot of stair", "Ends", "32.0"], "plates": ["Last opened", "circuit 7"]}[what]:
        assert word in text, f"{word} is not in what was printed: {text}"
    # Outlines and words of every sheet are there, and a picture of the first page is kept for whoever looks.
    PICTURES.mkdir(parents=True, exist_ok=True)
    run("pdftoppm", "-r", "100", "-png", "-f", "1", "-l", "1", "-singlefile", pdf, PICTURES / f"print-{what}-{paper}")


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_bars_are_as_long_as_they_say(job, tmp_path, paper):
    page = tmp_path / "labels.html"
    labels(job, page, "--paper", paper, "--what", "flags")
    pdf = printed(page, tmp_path)
    dots = 300
    run("pdftoppm", "-r", str(dots), "-gray", "-f", "1", "-l", "1", "-singlefile", pdf, tmp_path / "page")
    kind, size, most, grey = (tmp_path / "page.pgm").read_bytes().split(b"\n", 3)
    assert kind == b"P5" and most == b"255"
    width, height = map(int, size.split())
    # The bars stand in the head, in the first 33 mm of the sheet; no other line there is as long.
    bars = set()
    for y in range(height * 33 // 297):
        row = grey[y * width : (y + 1) * width]
        for dark in re.finditer(rb"[\x00-\x80]{450,}", row):
            bars.add((round(dark.start() / 40), dark.end() - dark.start()))
    lengths = sorted({length for _, length in bars})
    wanted = (50 / 25.4 * dots, 2 * dots)
    assert lengths, "no bar was found"
    for want in wanted:
        assert min(abs(length - want) for length in lengths) <= 6, (lengths, wanted)
    for length in lengths:
        assert min(abs(length - want) for want in wanted) <= 12, (lengths, wanted)


@pytest.mark.parametrize("what", ["flags", "cards", "plates"])
def test_words_keep_apart_with_the_letters_of_a_real_browser(job, browser, tmp_path, what):
    page = tmp_path / "labels.html"
    labels(job, page, "--what", what)
    browser.get(page.resolve().as_uri())
    assert browser.execute_script(MEASURED) == []
    desk.complaints(browser)


def test_every_svg_file_is_well_formed_and_needs_nothing_beside_it(job, tmp_path):
    made = labels(job, tmp_path / "all.svg", "--what", "cards", "--paper", "a4")
    assert len(made) > 1
    for name in made:
        text = pathlib.Path(name).read_text()
        root = xml.etree.ElementTree.fromstring(text)
        assert root.tag == f"{SVG}svg" and root.get("role") == "img"
        assert root.find(f"{SVG}title").text
        assert (root.get("width"), root.get("height")) == ("595.28pt", "841.89pt")
        drawn = {e.tag.removeprefix(SVG) for e in root.iter()}
        assert drawn <= {"svg", "title", "path", "rect", "circle", "text"}, drawn
        assert "href" not in text and "url(" not in text
    one = labels(job, tmp_path / "one.svg", "--what", "plates", "--box", "B3")
    assert [pathlib.Path(name).name for name in one] == ["one.svg"]
