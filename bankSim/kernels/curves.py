"""Piecewise cubics with a remembered place, so that a march finds the next piece at once."""

from bankSim.kernels.jit import pasted

# columns of a piece: anchor, four coefficients, largest |slope| in it
STEEPEST = 5


@pasted
def find_piece(pieces, first, end, hint, z):
    """Return the piece of a curve that holds z.

    Piece `first` reaches down without end, the last one up without end; every other piece i holds
    anchor_i <= z < anchor_{i+1}.

    Parameters
    ----------
    pieces : array (q, 6)
        Anchor, four coefficients, largest |slope|. [1, then the curve's unit]
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
    """Evaluate one piece: y = c0 + s (c1 + s (c2 + s c3)), s = z - anchor; and dy/dz.

    Unit: [unit of the curve]

    Source: docs/theory.md, eq. 3.9.
    """
    s = z - pieces[piece, 0]
    c1, c2, c3 = pieces[piece, 2], pieces[piece, 3], pieces[piece, 4]
    return pieces[piece, 1] + s * (c1 + s * (c2 + s * c3)), c1 + s * (2.0 * c2 + s * 3.0 * c3)


@pasted
def most_change(pieces, first, end, hint, start, stop):
    """Return a bound on all rises and falls of a curve between two states of charge.

    It is the distance times the steepest slope of the pieces that are passed.

    Parameters
    ----------
    pieces : array (q, 6)
        As in `find_piece`. [1, then the curve's unit]
    first, end : int
        The curve is pieces[first:end].
    hint : int
        The piece that holds `stop`.
    start, stop : float
        States of charge, in any order. [1]
    """
    piece, steepest = hint, pieces[hint, STEEPEST]
    while piece + 1 < end and pieces[piece + 1, 0] < start:
        piece += 1
        steepest = max(steepest, pieces[piece, STEEPEST])
    while piece > first and pieces[piece, 0] > start:
        piece -= 1
        steepest = max(steepest, pieces[piece, STEEPEST])
    return abs(stop - start) * steepest
