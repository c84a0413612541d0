// The shell's own work: send tokens, swap what comes back, keep focus, scroll, typed text and the way back.
// It knows nothing of electricity and makes no words and no tokens.
(() => {
  'use strict';
  const root = document.documentElement;
  const kept = {
    get(store, key) { try { return store.getItem(key); } catch { return null; } },
    set(store, key, value) { try { store.setItem(key, value); } catch { /* a browser that keeps nothing still works */ } },
  };
  const choices = { light: 'system', hand: 'right', keys: 'page', list: 'no' };
  const settle = () => {
    for (const name of Object.keys(choices)) choices[name] = kept.get(localStorage, name) || choices[name];
    if (choices.light === 'system') delete root.dataset.theme; else root.dataset.theme = choices.light;
    root.dataset.hand = choices.hand;
    root.classList.toggle('listed', choices.list === 'yes');
  };
  // Before the first paint, so that a dark cellar is not lit up by a white page.
  settle();

  let way = [];
  let busy = false;
  let last = { x: -99, y: -99, at: 0 };
  const typed = new Map();
  const scrolled = new Map();
  const el = (id) => document.getElementById(id);
  const screen = () => el('screen');
  const rows = () => document.querySelector('.rows');
  const here = () => screen().dataset.address;
  const scroller = () => (root.classList.contains('large') ? document.scrollingElement : rows());

  const say = (text) => { el('live').textContent = ''; requestAnimationFrame(() => { el('live').textContent = text; }); };
  const refuse = (text) => {
    const banner = el('banner');
    banner.querySelector('.words').textContent = text;
    banner.hidden = false;
    banner.querySelector('button').focus();
  };
  const dismiss = () => {
    if (el('banner').hidden) return;
    el('banner').hidden = true;
    const again = document.querySelector('[data-asked-from]') || document.querySelector('h1');
    again.removeAttribute('data-asked-from');
    again.focus();
  };

  const remember = () => {
    const words = {};
    for (const input of screen().querySelectorAll('input[data-f]')) {
      if (input.value !== input.defaultValue) words[input.dataset.f] = input.value;
    }
    typed.set(here(), words);
    scrolled.set(here(), scroller().scrollTop);
  };
  const fit = () => {
    root.classList.toggle('large', parseFloat(getComputedStyle(root).fontSize) > 16 * 1.3);
    // A bar that would cover a third of the screen stands at the end of the rows instead.
    const deeds = document.querySelector('.deeds');
    deeds.classList.toggle('tall', deeds.scrollHeight > window.innerHeight / 3);
    for (const picture of document.querySelectorAll('.pic')) {
      const pan = picture.querySelector('.pan');
      picture.querySelector('.ends').hidden = pan.scrollWidth <= pan.clientWidth + 1;
    }
  };
  const dress = () => {
    for (const [input, value] of Object.entries(typed.get(here()) || {})) {
      const found = screen().querySelector(`input[data-f="${CSS.escape(input)}"]`);
      if (found) found.value = value;
    }
    for (const button of document.querySelectorAll('[data-set]')) {
      button.setAttribute('aria-pressed', String(choices[button.dataset.set] === button.dataset.to));
    }
    for (const button of document.querySelectorAll('[data-list]')) {
      button.setAttribute('aria-expanded', String(choices.list === 'yes'));
    }
    for (const input of document.querySelectorAll('[data-number]')) keyed(input);
    for (const button of document.querySelectorAll('[data-back]')) button.hidden = way.length < 2;
    document.title = `${screen().dataset.title}, Boxproof`;
    fit();
  };

  // Number keys that fit a glove: one set of them, under the field that is being typed in. While it is there the
  // device's own keyboard does not come up; a keyboard with real keys types as ever.
  let keys = null;
  const keyed = (input) => {
    const own = choices.keys === 'page' && input.dataset.number === 'yes';
    input.inputMode = own ? 'none' : (input.dataset.number === 'yes' ? 'decimal' : 'text');
    if (!own && keys && input.form.contains(keys)) keys.remove();
    return own;
  };
  const bring = (input) => {
    if (!keyed(input)) return;
    keys ||= el('keys').content.firstElementChild.cloneNode(true);
    if (input.form.contains(keys)) return;
    input.form.querySelector('[data-keys]').append(keys);
    keys.scrollIntoView({ block: 'nearest' });
  };
  const strike = (key) => {
    const input = keys.closest('form').querySelector('[data-number]');
    const [from, to] = [input.selectionStart, input.selectionEnd];
    const back = key === 'Backspace';
    if (back && from === to) input.setRangeText('', Math.max(from - 1, 0), from, 'end');
    else input.setRangeText(back ? '' : key, from, to, 'end');
    say(input.value);
  };

  // The way back holds each screen once: who comes to one that is on the way has gone back to it.
  const walk = (address) => {
    const at = way.indexOf(address);
    way = at < 0 ? way.concat(address) : way.slice(0, at + 1);
    kept.set(sessionStorage, 'way', JSON.stringify(way));
  };
  const nowKey = () => document.querySelector('.rows .now')?.id || '';
  const swap = (html) => {
    const fresh = new DOMParser().parseFromString(html, 'text/html').getElementById('screen');
    if (!fresh) { refuse(root.dataset.gone); return; }
    const from = here();
    const focus = document.activeElement?.dataset?.f;
    const before = nowKey();
    remember();
    screen().replaceWith(document.adoptNode(fresh));
    const to = here();
    walk(to);
    dress();
    el('banner').hidden = true;
    scroller().scrollTop = scrolled.get(to) || 0;
    const now = document.querySelector('.rows .now');
    if (from === to) {
      const target = (focus && screen().querySelector(`[data-f="${CSS.escape(focus)}"]`))
        || now?.querySelector('button,input') || (now?.matches('button') ? now : null) || document.querySelector('h1');
      target.focus({ preventScroll: true });
      if (now && nowKey() !== before) now.scrollIntoView({ block: 'nearest' });
      say(now?.getAttribute('aria-label') || now?.querySelector('.unseen')?.textContent || screen().dataset.title);
    } else {
      document.querySelector('h1').focus({ preventScroll: true });
      say(screen().dataset.title);
    }
  };

  const call = async (path, options) => {
    if (busy) return false;
    busy = true;
    root.classList.add('busy');
    try {
      const answer = await fetch(path, { credentials: 'same-origin', cache: 'no-store', ...options });
      const text = await answer.text();
      const told = new DOMParser().parseFromString(text, 'text/html').getElementById('refusal');
      if (answer.ok && !told) { swap(text); return true; }
      refuse(told ? told.textContent.trim() : root.dataset.gone);
    } catch {
      refuse(root.dataset.gone);
    } finally {
      busy = false;
      root.classList.remove('busy');
    }
    return false;
  };
  const go = (address) => call(`/screen?at=${encodeURIComponent(address)}`);
  const send = (token, input) => {
    document.querySelector('[data-asked-from]')?.removeAttribute('data-asked-from');
    document.activeElement?.setAttribute('data-asked-from', '');
    const body = JSON.stringify({ token, input: input ?? null, drawn: Number(screen().dataset.drawn) });
    return call('/send', { method: 'POST', headers: { 'content-type': 'application/json' }, body });
  };
  const hand = (token, file) => {
    if (file.size > 64 * 1024 * 1024) { refuse(root.dataset.large); return; }
    const query = new URLSearchParams({ token, drawn: screen().dataset.drawn, name: file.name });
    call(`/hand?${query}`, { method: 'POST', headers: { 'content-type': 'application/octet-stream' }, body: file });
  };
  const back = () => { if (way.length > 1) go(way[way.length - 2]); };

  let asking = null;
  const ask = (button) => {
    const file = button.dataset.kind === 'file';
    asking = { token: button.dataset.t, file, from: button };
    el('ask-label').textContent = button.dataset.asks;
    el('ask-label').htmlFor = file ? 'ask-file' : 'ask-text';
    el('ask-text').hidden = file;
    el('ask-file').hidden = !file;
    el('ask-text').value = '';
    el('ask-file').value = '';
    el('ask-text').dataset.number = button.dataset.kind === 'number' ? 'yes' : 'no';
    el('ask-unit').textContent = button.dataset.unit || '';
    keyed(el('ask-text'));
    el('ask-unit').hidden = !button.dataset.unit;
    el('ask').showModal();
    (file ? el('ask-file') : el('ask-text')).focus();
  };
  const asked = (event) => {
    event.preventDefault();
    const { token, file, from } = asking;
    const chosen = el('ask-file').files[0];
    if (file && !chosen) return;
    el('ask').close();
    from.focus();
    if (file) hand(token, chosen); else send(token, el('ask-text').value);
  };

  // A second tap of a gloved thumb on the same spot is not a second wish.
  const bounced = (event) => {
    if (event.detail === 0) return false;
    const near = Math.abs(event.clientX - last.x) < 24 && Math.abs(event.clientY - last.y) < 24;
    const soon = event.timeStamp - last.at < 400;
    last = { x: event.clientX, y: event.clientY, at: event.timeStamp };
    return near && soon;
  };
  const pressed = (event) => {
    const target = event.target.closest('button,a');
    if (!target || target.matches('[type=submit]')) return;
    if (target.matches('a.place')) event.preventDefault();
    if (target.dataset.key) strike(target.dataset.key);
    else if (target.dataset.pan) {
      const pan = target.closest('.pic').querySelector('.pan');
      pan.scrollLeft += Number(target.dataset.pan) * pan.clientWidth * 0.8;
    } else if (target.dataset.set) {
      kept.set(localStorage, target.dataset.set, target.dataset.to);
      choices[target.dataset.set] = target.dataset.to;
      settle();
      dress();
    } else if (target.dataset.list) {
      choices.list = choices.list === 'yes' ? 'no' : 'yes';
      kept.set(localStorage, 'list', choices.list);
      settle();
      dress();
    } else if (target.dataset.dismiss) dismiss();
    else if (target.dataset.leave) el('ask').close();
    else if (bounced(event)) return;
    else if (target.dataset.back) back();
    else if (target.dataset.asks !== undefined) ask(target);
    else if (target.dataset.t !== undefined) send(target.dataset.t);
  };
  const submitted = async (event) => {
    const form = event.target;
    if (form.closest('#ask')) { asked(event); return; }
    event.preventDefault();
    const input = form.querySelector('input');
    const text = input.value;
    // What was entered is no longer being typed; what was refused is.
    const drawn = input.defaultValue;
    input.defaultValue = text;
    if (!(await send(form.dataset.t, text))) input.defaultValue = drawn;
  };

  document.addEventListener('DOMContentLoaded', () => {
    way = [here()];
    const old = JSON.parse(kept.get(sessionStorage, 'way') || '[]');
    dress();
    document.addEventListener('click', pressed);
    document.addEventListener('submit', submitted);
    document.addEventListener('keydown', (event) => {
      // A place is a link of the picture, which has no click of its own to call.
      if (event.key === ' ' && event.target.matches('a.place')) {
        event.preventDefault();
        event.target.dispatchEvent(new MouseEvent('click', { bubbles: true, cancelable: true }));
      }
      if (event.key === 'Escape' && !el('banner').hidden) dismiss();
      // Who has struck a key on the page and goes on with real keys means the same field.
      if (event.target.dataset.key && !event.ctrlKey && !event.metaKey && /^([0-9.]|Backspace)$/.test(event.key)) {
        event.preventDefault();
        strike(event.key);
      }
    });
    document.addEventListener('focusin', (event) => { if (event.target.matches('[data-number]')) bring(event.target); });
    window.addEventListener('resize', fit);
    // The live region is one line high, so it tells when the person changes the text size.
    new ResizeObserver(fit).observe(el('live'));
    window.addEventListener('popstate', () => {
      if (way.length > 1) { history.pushState('in', ''); back(); } else history.back();
    });
    if (history.state !== 'in') history.pushState('in', '');
    if (old.length > 1 && old[0] === way[0]) { way = old; go(old[old.length - 1]); }
  });
})();
