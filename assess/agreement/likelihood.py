"""Minus two restricted log-likelihood of variances of random effects, with exact first and second derivatives.

Model: score = mean + sum of effects of sources + error, effects independent and normal. V = error * H, where
H = I + sum of gamma_k Z_k Z_k' and gamma_k is variance k over error variance. Everything about the sources
outside the blocks is done among cells (see blocks.py): with A = Z' H_in^-1 Z over cells and B the covariance of
cells, the projection P = H_in^-1 - H_in^-1 Z N Z' H_in^-1 needs only matrices of cells by cells.
Source: Searle, Casella & McCulloch (1992), Variance Components, ch. 6; Gilmour, Thompson & Cullis (1995).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assess.agreement.blocks import Blocks, Inverses, Sums
from assess.agreement.scores import Floats

__all__ = ["Pieces", "Point", "at", "pieces"]


@dataclass(frozen=True, eq=False)
class Pieces:
    """What the likelihood is made of at ratios gamma. D_k = Z_k Z_k'; P as above, for an error variance of one.

    log_determinant: of H and of 1' H^-1 1. quadratic: y' P y. traces: tr P D_k; squares: y' P D_k P y, (k,).
    expected: tr P D_j P D_k; average: y' P D_j P D_k P y, (k, k). mean: of the scores by generalised least squares;
    mean_weight: 1' H^-1 1.
    """

    log_determinant: float
    quadratic: float
    traces: Floats
    squares: Floats
    expected: Floats
    average: Floats
    mean: float
    mean_weight: float


@dataclass(frozen=True, eq=False)
class Point:
    """Minus two restricted log-likelihood, its slope, its curvature, and the curvature to expect (positive)."""

    value: float
    slope: Floats
    curvature: Floats
    expected: Floats


@dataclass(frozen=True, eq=False)
class _Frame:
    """Cells by cells: A and its first and second derivatives (q, q, c), the same for scores by cell (q, c) and (c,).

    n_matrix: N; solved: N Z' H_in^-1 y; u: Z' P y; projected: Z' P Z.
    """

    inverses: Inverses
    a: Floats
    y: Floats
    yy: Floats
    n_matrix: Floats
    solved: Floats
    u: Floats
    projected: Floats


@dataclass(frozen=True, eq=False)
class _First:
    """What each source gives by itself. flow: Z' P D_k P y, (k, q); spread: Z' P D_k P Z, (k, q, q).

    z: Z' H_in^-1 D_k P y of the sources inside.
    """

    traces: Floats
    squares: Floats
    flow: Floats
    spread: Floats
    z: Floats


def pieces(blocks: Blocks, sums: Sums, gamma: Floats) -> Pieces:
    """The pieces at gamma, one ratio for each source, shape (k,), none negative."""
    q = blocks.n_cells
    h = blocks.inverses(gamma[list(blocks.inside)])
    a = np.asarray(blocks.spread @ h.columns).reshape(q, q, -1)
    y, yy = np.asarray(sums.by_cell @ h.columns), sums.squares @ h.columns
    alike = [(levels[:, None] == levels[None, :]).astype(np.float64) for levels in blocks.levels]
    n_matrix, log, weight, carried = _between(a[:, :, 0], _covariance(alike, gamma[list(blocks.outside)], q))
    solved = n_matrix @ y[:, 0]
    u, projected = y[:, 0] - a[:, :, 0] @ solved, a[:, :, 0] - a[:, :, 0] @ n_matrix @ a[:, :, 0]
    frame = _Frame(h, a, y, yy, n_matrix, solved, u, projected)
    first = _first(frame, alike)
    expected, average = _second(frame, alike, first)
    order = np.argsort([*blocks.inside, *blocks.outside])
    square = np.ix_(order, order)
    return Pieces(
        h.log_determinant + log, float(yy[0] - y[:, 0] @ solved), first.traces[order], first.squares[order],
        expected[square], average[square], float(carried @ y[:, 0]) / weight, weight,
    )  # fmt: skip


def _first(frame: _Frame, alike: list[Floats]) -> _First:
    s, q = len(frame.inverses.traces), len(frame.u)
    a, n_matrix, solved = frame.a[:, :, 0], frame.n_matrix, frame.solved
    total = s + len(alike)
    traces, squares, flow = np.zeros(total), np.zeros(total), np.zeros((total, q))
    spread, z = np.zeros((total, q, q)), np.zeros((s, q))
    rest = np.eye(q) - a @ n_matrix
    for k in range(s):
        a_k, y_k = frame.a[:, :, 1 + k], frame.y[:, 1 + k]
        traces[k] = frame.inverses.traces[k] - np.sum(n_matrix * a_k)
        squares[k] = frame.yy[1 + k] - 2 * y_k @ solved + solved @ a_k @ solved
        z[k] = y_k - a_k @ solved
        flow[k] = z[k] - a @ (n_matrix @ z[k])
        spread[k] = rest @ a_k @ rest.T
    for k, equal in enumerate(alike, start=s):
        traces[k], squares[k] = np.sum(equal * frame.projected), frame.u @ equal @ frame.u
        flow[k] = frame.projected @ (equal @ frame.u)
        spread[k] = frame.projected @ equal @ frame.projected
    return _First(traces, squares, flow, spread, z)


def _second(frame: _Frame, alike: list[Floats], first: _First) -> tuple[Floats, Floats]:
    """Traces of P D_j P D_k, and y' P D_j P D_k P y, for every pair, sources inside first."""
    s, total = len(first.z), len(first.traces)
    expected, average = np.zeros((total, total)), np.zeros((total, total))
    for k, equal in enumerate(alike, start=s):
        for j in range(k + 1):
            expected[k, j], average[k, j] = np.sum(equal * first.spread[j]), first.flow[j] @ equal @ frame.u
    carried = [frame.n_matrix @ frame.a[:, :, 1 + k] for k in range(s)]
    pairs = [(j, k) for j in range(s) for k in range(j + 1)]
    for place, (j, k) in enumerate(pairs, start=1 + s):
        a_jk, y_jk, solved = frame.a[:, :, place], frame.y[:, place], frame.solved
        traced = np.sum(carried[j] * carried[k].T) - 2 * np.sum(frame.n_matrix * a_jk)
        expected[j, k] = frame.inverses.pairs[j, k] + traced
        inside = frame.yy[place] - 2 * y_jk @ solved + solved @ a_jk @ solved
        average[j, k] = inside - first.z[j] @ frame.n_matrix @ first.z[k]
    return _mirrored(expected), _mirrored(average)


def _mirrored(part: Floats) -> Floats:
    return np.asarray(np.tril(part) + np.tril(part, -1).T)


def _covariance(alike: list[Floats], gamma: Floats, q: int) -> Floats:
    return sum((g * equal for g, equal in zip(gamma, alike, strict=True)), np.zeros((q, q)))


def _between(a: Floats, b: Floats) -> tuple[Floats, float, float, Floats]:
    """N with the mean projected out, log determinants, 1' H^-1 1, and the row that makes 1' H^-1 y of A's side of y.

    With A = C C' and M = I + C' B C everything stays symmetric and positive, also where variances are zero.
    """
    from scipy.linalg import solve_triangular

    c = np.linalg.cholesky(a)
    m = np.linalg.cholesky(np.eye(len(a)) + c.T @ b @ c)
    c_inverse: Floats = solve_triangular(c, np.eye(len(a)), lower=True)
    half: Floats = solve_triangular(m, np.eye(len(a)), lower=True)
    m_inverse = half.T @ half
    ones = c.T @ np.ones(len(a))
    carried: Floats = c_inverse.T @ (m_inverse @ ones)
    weight = float(ones @ m_inverse @ ones)
    n_matrix = c_inverse.T @ (np.eye(len(a)) - m_inverse) @ c_inverse + np.outer(carried, carried) / weight
    log = 2 * float(np.log(np.diagonal(m)).sum()) + float(np.log(weight))
    return n_matrix, log, weight, carried


def at(blocks: Blocks, sums: Sums, variances: Floats) -> Point:
    """The likelihood at variances, shape (k + 1,), the error's last and positive."""
    error = float(variances[-1])
    gamma = variances[:-1] / error
    p = pieces(blocks, sums, gamma)
    df = blocks.n - 1
    value = df * np.log(2 * np.pi * error) + p.log_determinant + p.quadratic / error
    # The error's own D is the identity, and sum gamma_k D_k + I = H, with P H P = P.
    traces = np.append(p.traces, df - gamma @ p.traces)
    squares = np.append(p.squares, p.quadratic - gamma @ p.squares)
    expected = _with_error(p.expected, gamma, p.traces, df)
    average = _with_error(p.average, gamma, p.squares, p.quadratic)
    slope = traces / error - squares / error**2
    return Point(value, slope, (2 * average / error - expected) / error**2, expected / error**2)


def _with_error(matrix: Floats, gamma: Floats, first: Floats, last: float) -> Floats:
    """A matrix of pairs of sources with the row of the error added."""
    cross = first - matrix @ gamma
    corner = last - gamma @ first - gamma @ cross
    return np.block([[matrix, cross[:, None]], [cross[None, :], np.array([[corner]])]])
