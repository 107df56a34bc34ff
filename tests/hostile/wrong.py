"""What judges raise about an answer."""


class WrongAnswerError(Exception):
    """Something is in an answer that must not be there."""


def refuse_constant(word: str) -> None:
    """Stand in for what JSON knows as a number and is none."""
    raise WrongAnswerError(f"{word} in JSON")
