// Looks a page through as a reader with weak eyes, a screen reader and a thumb would.
// Returns one line for each thing that is wrong. Limits: WCAG 2.2, level AA (from memory: 1.1.1,
// 1.4.3, 2.5.8, 3.3.2/4.1.2; contrast and relative luminance by the formulas of its glossary).
() => {
  const CONTROLS = 'input:not([type=hidden]), select, textarea, button, a[href], summary, ' +
    '[role=slider], [role=combobox], [role=checkbox], [role=switch], [role=tab], [role=radio], ' +
    '[role=spinbutton], [role=textbox]';
  const faults = [];
  const isHidden = (one) => one.closest('[aria-hidden=true], [inert]') !== null;
  const isSeen = (one) => {
    const style = getComputedStyle(one);
    const box = one.getBoundingClientRect();
    return box.width > 1 && box.height > 1 && style.visibility === 'visible' && !isHidden(one);
  };
  const short = (text) => text.trim().replace(/\s+/g, ' ').slice(0, 60);
  const describe = (one) => `${one.tagName.toLowerCase()}${one.type ? `[${one.type}]` : ''} ` +
    `"${short(one.innerText || one.value || one.className.baseVal || String(one.className))}"`;

  // --- names -------------------------------------------------------------------------------
  const textOf = (ids) => ids.split(/\s+/).map((id) => document.getElementById(id)?.textContent ?? '').join(' ');
  const nameOf = (one) => {
    const given = one.getAttribute('aria-label') || textOf(one.getAttribute('aria-labelledby') || '');
    if (given.trim()) return given;
    const labels = [...(one.labels || [])].map((label) => label.textContent).join(' ');
    if (labels.trim()) return labels;
    if (['INPUT', 'SELECT', 'TEXTAREA'].includes(one.tagName)) return one.title;
    const pictures = [...one.querySelectorAll('img[alt], svg[aria-label]')]
      .map((found) => found.getAttribute('alt') || found.getAttribute('aria-label')).join(' ');
    const words = [...one.querySelectorAll('[aria-hidden=true]')]
      .reduce((text, icon) => text.replace(icon.textContent, ''), one.textContent);
    return words.trim() || pictures.trim() || one.title;
  };
  const controls = [...document.querySelectorAll(CONTROLS)].filter(isSeen);
  for (const one of controls) {
    if (!nameOf(one).trim()) faults.push(`no name: ${describe(one)}`);
  }

  // --- headings and pictures ---------------------------------------------------------------
  const headings = [...document.querySelectorAll('h1, h2, h3, h4, h5, h6')].filter(isSeen);
  const levels = headings.map((one) => Number(one.tagName[1]));
  if (levels.filter((level) => level === 1).length !== 1) faults.push(`headings: ${levels} has not one h1`);
  levels.forEach((level, place) => {
    if (place > 0 && level > levels[place - 1] + 1) {
      faults.push(`headings: h${level} "${short(headings[place].innerText)}" after h${levels[place - 1]}`);
    }
  });
  for (const one of document.querySelectorAll('img')) {
    if (isSeen(one) && !one.hasAttribute('alt')) faults.push(`no alt: ${one.src.slice(0, 60)}`);
  }
  for (const one of document.querySelectorAll('svg[role=img]')) {
    const title = one.querySelector('title')?.textContent;
    const named = one.getAttribute('aria-label') || textOf(one.getAttribute('aria-labelledby') || '') || title;
    if (isSeen(one) && !named) faults.push('no name: a drawing');
  }
  for (const one of document.querySelectorAll('[data-testid=stPlotlyChart]')) {
    const words = one.closest('[aria-label]') || one.querySelector('[aria-label], [alt]') ||
      one.closest('[role=img]');
    if (!words) faults.push('no words: a chart');
  }

  // --- contrast ----------------------------------------------------------------------------
  const canvas = document.createElement('canvas');
  canvas.width = canvas.height = 1;
  const paint = canvas.getContext('2d', {willReadFrequently: true});
  const known = new Map();
  const colour = (css) => {
    if (!known.has(css)) {
      paint.clearRect(0, 0, 1, 1);
      paint.fillStyle = css;
      paint.fillRect(0, 0, 1, 1);
      const [r, g, b, a] = paint.getImageData(0, 0, 1, 1).data;
      known.set(css, [r, g, b, a / 255]);
    }
    return known.get(css);
  };
  const over = (top, below) => [0, 1, 2].map((i) => top[i] * top[3] + below[i] * (1 - top[3]));
  const paper = (one) => {
    const layers = [];
    const own = one.getBoundingClientRect();
    const [x, y] = [own.left + own.width / 2, own.top + own.height / 2];
    const isBelow = (here) => {  // a word may hang beside what holds it
      const box = here.getBoundingClientRect();
      return here === document.documentElement || here === document.body || here === one ||
        (box.left <= x && x <= box.right && box.top <= y && y <= box.bottom);
    };
    for (let here = one; here; here = here.parentElement) {
      const style = getComputedStyle(here);
      if (!isBelow(here)) continue;
      if (style.backgroundImage !== 'none') return null;
      layers.push(colour(style.backgroundColor));
      if (layers.at(-1)[3] === 1) break;
    }
    return layers.reverse().reduce((below, layer) => over(layer, below), [255, 255, 255]);
  };
  const luminance = (rgb) => {
    const [r, g, b] = rgb.map((value) => value / 255)
      .map((value) => (value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const contrast = (a, b) => {
    const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
    return (high + 0.05) / (low + 0.05);
  };
  const opacity = (one) => {
    let found = 1;
    for (let here = one; here; here = here.parentElement) found *= Number(getComputedStyle(here).opacity);
    return found;
  };
  const look = (one, css, text) => {
    const style = getComputedStyle(one);
    const below = paper(one);
    if (below === null) return;
    const ink = [...colour(css)];
    ink[3] *= opacity(one);
    if (ink[3] === 0) return;
    const size = parseFloat(style.fontSize);
    const isLarge = size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700);
    const found = contrast(over(ink, below), below);
    if (found < (isLarge ? 3 : 4.5) - 0.005) {
      faults.push(`contrast ${found.toFixed(2)}: "${short(text)}" ${css} on ${below.map(Math.round)}`);
    }
  };
  const isOff = (one) => one.closest('[disabled], [aria-disabled=true], fieldset:disabled') !== null;
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const text = walker.currentNode.textContent;
    const one = walker.currentNode.parentElement;
    if (!text.trim() || ['SCRIPT', 'STYLE', 'NOSCRIPT', 'TITLE', 'DESC'].includes(one.tagName.toUpperCase())) continue;
    if (!isSeen(one) || isOff(one)) continue;
    look(one, one instanceof SVGElement ? getComputedStyle(one).fill : getComputedStyle(one).color, text);
  }
  for (const one of document.querySelectorAll('input:not([type=range]), textarea')) {
    if (!isSeen(one) || isOff(one)) continue;
    if (one.value) look(one, getComputedStyle(one).color, one.value);
    else if (one.placeholder) look(one, getComputedStyle(one, '::placeholder').color, one.placeholder);
  }

  // --- size of what is touched: 24 px both ways, or nothing else to touch within a circle of
  // 24 px around its middle (2.5.8, Spacing)
  const areas = new Map();  // the box that answers to a touch -> what it is
  for (const one of document.querySelectorAll('button, summary, input[type=checkbox], input[type=radio]')) {
    if (isSeen(one)) areas.set(one.closest('label') || one, one);
  }
  const boxes = [...areas].map(([area, one]) => ({one, box: area.getBoundingClientRect()}));
  const middle = (box) => [box.left + box.width / 2, box.top + box.height / 2];
  const isSmall = (box) => Math.min(box.width, box.height) < 23.5;
  const near = (mine, other) => {
    const [x, y] = middle(mine);
    if (isSmall(other)) return Math.hypot(x - middle(other)[0], y - middle(other)[1]) < 23.5;
    const away = (at, low, high) => Math.max(low - at, 0, at - high);
    return Math.hypot(away(x, other.left, other.right), away(y, other.top, other.bottom)) < 11.5;
  };
  for (const {one, box} of boxes) {
    if (!isSmall(box)) continue;
    const close = boxes.find((other) => other.one !== one && near(box, other.box));
    if (close) {
      faults.push(`small: ${describe(one)} ${box.width.toFixed(0)} x ${box.height.toFixed(0)}, ` +
        `too near to ${describe(close.one)}`);
    }
  }
  return [...new Set(faults)];
}
