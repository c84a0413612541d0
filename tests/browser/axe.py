"""axe-core, an accessibility engine from outside the project, run on whatever page the browser shows.

Source: axe-core 4.12.1, MPL-2.0; its rules for WCAG 2.0 to 2.2, A and AA, its best practices, and of AAA the contrast
of text (1.4.6). The wheel that holds it is pinned in axe-requirements.txt and kept in target/axe, so that a second run
needs no network.
"""

import functools
import hashlib
import pathlib
import re
import zipfile

REQUIREMENT = pathlib.Path(__file__).parent / "axe-requirements.txt"
KEPT = pathlib.Path("target/axe")

RUN = """
const done = arguments[arguments.length - 1];
const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22a', 'wcag22aa', 'best-practice'];
axe.run(document, {
  runOnly: {type: 'tag', values: tags.concat('wcag2aaa')},
  rules: {'color-contrast-enhanced': {enabled: true}},
  preload: false,
}).then((found) => done({
  version: axe.version,
  ran: found.passes.concat(found.violations, found.incomplete).map((rule) => rule.id),
  faults: found.violations.flatMap((rule) => rule.nodes.map((node) =>
    rule.id + ': ' + node.target.join(' ') + ': ' + node.html.slice(0, 160) + ' (' + node.failureSummary + ')')),
}), (why) => done({version: '', ran: [], faults: [String(why)]}));
"""


@functools.cache
def engine():
    """The engine's text, out of the wheel whose bytes the requirement names."""
    wanted = re.search(r"--hash=sha256:([0-9a-f]{64})", REQUIREMENT.read_text()).group(1)
    for wheel in sorted(KEPT.glob("*.whl")):
        if hashlib.sha256(wheel.read_bytes()).hexdigest() == wanted:
            with zipfile.ZipFile(wheel) as files:
                name = next(name for name in files.namelist() if name.endswith("/axe.min.js"))
                return files.read(name).decode()
    raise AssertionError("axe-core is not in target/axe. ./check puts it there: need_axe in tests/setup.sh.")


def faults(driver):
    """What axe-core finds wrong with the page as it stands, one line for each element."""
    if not driver.execute_script("return window.axe !== undefined"):
        driver.execute_script(engine())
    found = driver.execute_async_script(RUN)
    # An engine that looked at nothing finds nothing.
    assert found["version"].startswith("4.") and len(found["ran"]) > 10, found
    return found["faults"]
