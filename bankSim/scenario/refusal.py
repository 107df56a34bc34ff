"""How a value of the file is refused: with the words for what is allowed."""

from pydantic_core import PydanticCustomError

NOT_ALLOWED = "not_allowed"  # type of the faults raised here; `allowed` in their context


def refuse(allowed: str) -> PydanticCustomError:
    """Make the fault of a value, from the words for what is allowed."""
    return PydanticCustomError(NOT_ALLOWED, "expected {allowed}", {"allowed": allowed})
