"""What the look of a page is measured with, whatever page it is."""

TARGETS = """
return [...document.querySelectorAll('button,a,input,summary')].filter((e) => e.checkVisibility()).map((e) => {
  const r = e.getBoundingClientRect();
  return {name: e.dataset.f || e.textContent.trim(), x: r.left, y: r.top, w: r.width, h: r.height,
          picture: e.matches('a.place')};
});
"""

OVERFLOW = """
const wide = document.documentElement.clientWidth, bad = [];
if (document.scrollingElement.scrollWidth > wide) bad.push('page is ' + document.scrollingElement.scrollWidth);
for (const e of document.querySelectorAll('#screen *, #banner *')) {
  if (!e.checkVisibility() || e.closest('.pan,svg,.unseen')) continue;
  const r = e.getBoundingClientRect(), s = getComputedStyle(e);
  if (!r.width) continue;
  if (!e.closest('.grid table') && (r.right > wide + 1 || r.left < -1)) bad.push('out of page: ' + e.outerHTML.slice(0, 80));
  if (e.matches('input')) continue; // what is typed moves under its own caret
  const clipped = s.overflowX !== 'visible' && s.overflowX !== 'auto' || s.textOverflow === 'ellipsis';
  if (clipped) bad.push('clipped: ' + e.outerHTML.slice(0, 80));
  const own = [...e.childNodes].filter((n) => n.nodeType === 3 && n.textContent.trim());
  const box = (e.closest('button,td,th,.tape,input,a.press,.n,.c') || e).getBoundingClientRect();
  for (const text of own) {
    const range = document.createRange();
    range.selectNodeContents(text);
    const t = range.getBoundingClientRect();
    if (t.right > box.right + 1 || t.left < box.left - 1 || t.bottom > box.bottom + 2 || t.top < box.top - 2) {
      bad.push('text leaves its box: ' + text.textContent);
    }
  }
}
return bad;
"""

OVERLAP = """
const all = [...document.querySelectorAll('.m,.v,.c,.sws,.tape,.n,.mark,.unit,.head h2,.head>span')]
  .filter((e) => e.checkVisibility() && e.textContent.trim() || e.matches('.mark'));
const bad = [];
for (const row of document.querySelectorAll('section > *')) {
  const inside = all.filter((e) => row.contains(e) && !e.parentElement.closest('.m,.v,.chip'));
  for (let i = 0; i < inside.length; i++) for (let j = i + 1; j < inside.length; j++) {
    const a = inside[i].getBoundingClientRect(), b = inside[j].getBoundingClientRect();
    if (a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1) {
      bad.push(inside[i].textContent + ' over ' + inside[j].textContent);
    }
  }
}
return bad;
"""

# What lies on what in pictures, as the browser measures it: no words on others, none out of the picture.
WORDS = """
const bad = [];
for (const picture of document.querySelectorAll('svg.picture')) {
  const frame = picture.getBoundingClientRect(), all = [];
  for (const text of picture.querySelectorAll('text')) {
    const r = text.getBoundingClientRect();
    // The line box is higher than the letters: what stands above capitals and below the line is air.
    const air = r.height * 0.22;
    const box = {words: text.textContent, left: r.left, right: r.right, top: r.top + air, bottom: r.bottom - air};
    if (box.left < frame.left - 1 || box.right > frame.right + 1) bad.push(box.words + ' leaves the picture');
    for (const other of all) {
      const across = box.left < other.right - 1 && other.left < box.right - 1;
      if (across && box.top < other.bottom - 1 && other.top < box.bottom - 1) {
        bad.push(box.words + ' lies on ' + other.words);
      }
    }
    all.push(box);
  }
}
return bad;
"""

CONTRAST = """
const part = (v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; };
const light = (c) => 0.2126 * part(c[0]) + 0.7152 * part(c[1]) + 0.0722 * part(c[2]);
const read = (c) => { const n = c.match(/[\\d.]+/g).map(Number); return n.length < 4 || n[3] > 0 ? n : null; };
const under = (e) => {
  for (let at = e; at; at = at.parentElement) {
    const c = read(getComputedStyle(at).backgroundColor);
    if (c) return c;
  }
  return read(getComputedStyle(document.documentElement).backgroundColor) || [255, 255, 255];
};
const out = [];
for (const e of document.querySelectorAll('body *')) {
  if (!e.checkVisibility() || e.closest('svg,.unseen')) continue;
  const own = e.matches('input') || [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
  if (!own) continue;
  const a = light(read(getComputedStyle(e).color)), b = light(under(e));
  out.push([(Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), e.textContent.trim().slice(0, 40)]);
}
return out;
"""


def text_size(page, scale):
    """The text size that the person has set, as the root's font size; the page hears of it as of any other change."""
    page.execute_script("document.documentElement.style.fontSize = arguments[0] === 1 ? '' : arguments[0] * 16 + 'px'", scale)
    page.execute_async_script("dispatchEvent(new Event('resize')); requestAnimationFrame(() => arguments[0]())")


def small(page):
    """What is touched and smaller than the project's floor."""
    return [target for target in page.execute_script(TARGETS) if min(target["w"], target["h"]) < 55.9]


def faults(page):
    """What is cut off, lies on something else, or is too small to touch."""
    return [fault for script in (OVERFLOW, OVERLAP, WORDS) for fault in page.execute_script(script)] + small(page)
