"""Values as a battery file writes them."""


def toml_number(value: float) -> str:
    """Return a number with six digits, as a float of TOML; `value` in the unit of its key. [any]"""
    text = f"{value:.6g}"
    return text if any(mark in text for mark in ".e") else f"{text}.0"


def toml_text(words: str) -> str:
    """Return a basic string of TOML."""
    escaped = words.replace("\\", "\\\\").replace('"', '\\"')
    safe = "".join(mark if mark.isprintable() else "?" for mark in escaped)
    return f'"{safe}"'
