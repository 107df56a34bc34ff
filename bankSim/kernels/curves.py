"""Piecewise cubics with a remembered place, so that a march finds the next piece at once."""

from bankSim.kernels.jit import inner, pasted


@pasted
def find_piece(pieces, first, end, hint, z):
    """Return the piece of a curve that holds z.

    Piece `first` reaches down without end, the last one up without end; every other piece i holds
    anchor_i <= z < anchor_{i+1}.

    Parameters
    ----------
    pieces : array (q, 5)
        Anchor and four coefficients.
    first, end : int
        The curve is pieces[first:end].
    hint : int
        Where to look first, first <= hint < end.
    z : float
        State of charge. [1]
    """
    piece = hint
    while piece > first and z < pieces[piece, 0]:
        piece -= 1
    while piece + 1 < end and z >= pieces[piece + 1, 0]:
        piece += 1
    return piece


@pasted
def value_and_slope(pieces, piece, z):
    """Evaluate one piece: y = c0 + s (c1 + s (c2 + s c3)), s = z - anchor; and dy/dz."""
    s = z - pieces[piece, 0]
    c1, c2, c3 = pieces[piece, 2], pieces[piece, 3], pieces[piece, 4]
    return pieces[piece, 1] + s * (c1 + s * (c2 + s * c3)), c1 + s * (2.0 * c2 + s * 3.0 * c3)


@inner
def variation(pieces, first, end, hint, start, stop):
    """Return the sum of all rises and falls of a curve between two states of charge.

    Inside a piece only its ends are compared: tables are straight there, smooth curves nearly so.

    Parameters
    ----------
    pieces, first, end, hint : see `find_piece`
    start, stop : float
        States of charge, in any order. [1]
    """
    low, high = min(start, stop), max(start, stop)
    piece = find_piece(pieces, first, end, hint, low)
    total = 0.0
    value = value_and_slope(pieces, piece, low)[0]
    while piece + 1 < end and pieces[piece + 1, 0] < high:
        piece += 1
        total += abs(pieces[piece, 1] - value)
        value = pieces[piece, 1]
    return total + abs(value_and_slope(pieces, piece, high)[0] - value)
