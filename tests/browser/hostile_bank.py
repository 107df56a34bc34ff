"""Scenario files for tests of the screen: one whose every word is an attack, and many others."""

NASTY = (
    "<script>window.pwned=1</script>",
    "<img src=x onerror=window.pwned=2>",
    "![p](http://elsewhere.example/p.png) [a](javascript:window.pwned=3)",
    "http://elsewhere.example www.elsewhere.example me@elsewhere.example",
    "$x^2$ :material/home: :red[danger] **boldmark** `code`",
    "=HYPERLINK(1) .include /etc/passwd ../../x",
)

BATTERY = """
[[battery]]
name = {name!r}
chemistry = "LFP"
cells_in_series = 4
rated_capacity_Ah = {capacity:.1f}
"""
LOAD = """
[[load]]
name = {name!r}
power_W = {power:.1f}
"""


def bank(title, names, capacities, load="lamp", power=240.0, notes=""):
    """Return a scenario; TOML's literal strings hold whatever has no quote in it."""
    head = f"title = {title!r}\nnotes = {notes!r}\n"
    batteries = (
        BATTERY.format(name=name, capacity=capacity)
        for name, capacity in zip(names, capacities, strict=True)
    )
    return head + "".join(batteries) + LOAD.format(name=load, power=power)


def quick_bank():
    """Few hours and an even load: many runs of it take little time."""
    return bank("Quick", ("small", "large"), (60.0, 100.0), power=200.0)


def hostile_bank():
    """Every name, the title and the notes are nasty."""
    return bank(NASTY[0], NASTY[1:4], (100.0, 80.0, 60.0), NASTY[4], 240.0, " ".join(NASTY))
