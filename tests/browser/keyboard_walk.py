"""Walks through a page with the Tab key: what is reached, and is it seen where one is?"""

MOST = 250
STILL = "* { transition: none !important; animation: none !important; }"

# What must be reached: all that acts, but one of a group that arrow keys walk through.
EXPECTED = """
() => {
    const all = document.querySelectorAll('input:not([type=hidden]), select, textarea, button, ' +
        'a[href], summary, [role=slider], [role=combobox], [role=tab], [tabindex="0"]');
    const seen = (one) => {
        const box = one.getBoundingClientRect();
        return box.width > 1 && box.height > 1 && getComputedStyle(one).visibility === 'visible' &&
            !one.closest('[aria-hidden=true], [inert]');
    };
    window.wanted = [...all].filter((one) =>
        seen(one) && !one.disabled && one.tabIndex >= 0 && one.type !== 'radio' &&
        one.getAttribute('role') !== 'radio');
    window.reached = new Set();
    document.activeElement?.blur();
}
"""
# Notes the element with the focus, and tells whether losing the focus changes how it looks.
STEP = """
() => {
    const one = document.activeElement;
    if (!one || one === document.body) return null;
    if (window.reached.has(one)) return 'again';
    window.reached.add(one);
    const chain = [];
    for (let here = one; here && chain.length < 5; here = here.parentElement) chain.push(here);
    if (one.firstElementChild) chain.push(one.firstElementChild);
    const looks = () => chain.map((here) => {
        const s = getComputedStyle(here);
        return [s.outlineStyle, s.outlineWidth, s.outlineColor, s.boxShadow, s.borderColor,
                s.backgroundColor, s.color, s.textDecorationLine, s.opacity].join('|');
    }).join('#');
    const focused = looks();
    one.blur();
    const isSeen = focused !== looks();
    one.focus({preventScroll: true, focusVisible: true});
    return isSeen ? 'seen' : `no focus to be seen: ${one.outerHTML.slice(0, 160)}`;
}
"""
MISSED = """
() => window.wanted.filter((one) => one.isConnected && !window.reached.has(one))
    .map((one) => `not reached: ${one.outerHTML.slice(0, 160)}`)
"""


def walk(page):
    """Return what is wrong: controls that Tab never reaches, or whose focus nobody sees."""
    page.add_style_tag(content=STILL)
    page.evaluate(EXPECTED)
    faults, ends = [], 0
    for _ in range(MOST):
        page.keyboard.press("Tab")
        found = page.evaluate(STEP)
        if found is None and ends < 2:  # past the last one Tab goes on with the first
            ends += 1
            continue
        if found in (None, "again"):
            break
        if found != "seen":
            faults.append(found)
    return faults + page.evaluate(MISSED)
