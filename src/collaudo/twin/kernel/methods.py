"""Coefficients of the Rosenbrock methods compared for the twin (transformed form of Hairer and Wanner, IV.7).

    (I / (gamma h) - J) u_i = f(y + sum_j a_ij u_j) + sum_j c_ij u_j / h
    y1 = y + sum_i m_i u_i,   error = sum_i e_i u_i
    y(theta) = (1 - theta) y + theta (y1 + (1 - theta) (K2 + theta (K3 + theta K4))),   K = h_rows . u

The twin's equations do not depend on time between events, so no coefficients for that are needed.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from collaudo.twin.kernel.tables import Floats


class Method(NamedTuple):
    """One tableau. ``a``, ``c``: (s, s) strictly lower; ``m``, ``e``: (s,); ``dense``: (3, s).

    ``weight``: (s,), what a quadrature's rates at the stages weigh. Nothing depends on quadratures, so their
    rows of the scheme can be summed beforehand: ``gamma (I - gamma c)^-T m``.
    """

    gamma: float
    order: float
    a: Floats
    c: Floats
    m: Floats
    e: Floats
    dense: Floats
    weight: Floats


def _lower(rows: list[list[float]]) -> Floats:
    s = len(rows)
    out = np.zeros((s, s))
    for i, row in enumerate(rows):
        out[i, : len(row)] = row
    return out


def _method(
    gamma: float,
    order: float,
    a: list[list[float]],
    c: list[list[float]],
    m: list[float],
    e: list[float],
    dense: list[list[float]],
) -> Method:
    rows = np.zeros((3, len(m)))
    for i, row in enumerate(dense):
        rows[i, : len(row)] = row
    below = _lower(c)
    weight = gamma * np.linalg.solve(np.eye(len(m)) - gamma * below.T, np.array(m))
    return Method(gamma, order, _lower(a), below, np.array(m), np.array(e), rows, weight)


def rodas3() -> Method:
    """Four stages, order 3(2), stiffly accurate: Sandu et al., Atmos. Environ. 31 (1997) 3459, table 1.

    It has no dense output of its own; the cubic through both ends and the slope at the start stands in
    (``K2 = y' h - (y1 - y)``; to leading order the first stage gives ``h y'`` only at rest, hence the
    quadratic of the second-order embedded pair: zero rows, linear).
    """
    return _method(
        0.5,
        3.0,
        [[], [0.0], [2.0, 0.0], [2.0, 0.0, 1.0]],
        [[], [4.0], [1.0, -1.0], [1.0, -1.0, -8.0 / 3.0]],
        [2.0, 0.0, 1.0, 1.0],
        [0.0, 0.0, 0.0, 1.0],
        [],
    )


def rodas4() -> Method:
    """Six stages, order 4(3), stiffly accurate: Hairer and Wanner, Solving ODEs II, 2nd ed., code RODAS,
    METH = 1."""
    a5 = [1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950]
    return _method(
        0.25,
        4.0,
        [
            [],
            [1.544],
            [0.9466785280815826, 0.2557011698983284],
            [3.314825187068521, 2.896124015972201, 0.9986419139977817],
            a5,
            [*a5, 1.0],
        ],
        [
            [],
            [-5.6688],
            [-2.430093356833875, -0.2063599157091915],
            [-0.1073529058151375, -9.594562251023355, -20.47028614809616],
            [7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160],
            [
                8.083246795921522,
                -7.981132988064893,
                -31.52159432874371,
                16.31930543123136,
                -6.058818238834054,
            ],
        ],
        [*a5, 1.0, 1.0],
        [0.0, 0.0, 0.0, 0.0, 0.0, 1.0],
        [
            [
                10.12623508344586,
                -7.487995877610167,
                -34.80091861555747,
                -7.992771707568823,
                1.025137723295662,
            ],
            [
                -0.6762803392801253,
                6.087714651680015,
                16.43084320892478,
                24.76722511418386,
                -6.594389125716872,
            ],
        ],
    )


def rodas4p() -> Method:
    """Six stages, order 4(3), made for parabolic problems: Steinebach (1995), as in code RODAS, METH = 3."""
    a5 = [-7.170454962423024, -4.741636671481785, -16.31002631330971, -1.062004044111401]
    return _method(
        0.25,
        4.0,
        [
            [],
            [3.0],
            [1.831036793486759, 0.4955183967433795],
            [2.304376582692669, -0.05249275245743001, -1.176798761832782],
            a5,
            [*a5, 1.0],
        ],
        [
            [],
            [-12.0],
            [-8.791795173947035, -2.207865586973518],
            [10.81793056857153, 6.780270611428266, 19.53485944642410],
            [34.19095006749676, 15.49671153725963, 54.74760875964130, 14.16005392148534],
            [34.62605830930532, 15.30084976114473, 56.99955578662667, 18.40807009793095, -5.714285714285717],
        ],
        [*a5, 1.0, 1.0],
        [0.0, 0.0, 0.0, 0.0, 0.0, 1.0],
        [
            [25.09876703708589, 11.62013104361867, 28.49148307714626, -5.664021568594133, 0.0],
            [
                1.638054557396973,
                -0.7373619806678748,
                8.477918219238990,
                15.99253148779520,
                -1.882352941176471,
            ],
        ],
    )


def rodas5p() -> Method:
    """Eight stages, order 5(4): Steinebach, BIT Numer. Math. 63 (2023) 27."""
    a6 = [
        -7.502846399306121,
        2.561846144803919,
        -11.627539656261098,
        -0.18268767659942256,
        0.030198172008377946,
    ]
    return _method(
        0.21193756319429014,
        5.0,
        [
            [],
            [3.0],
            [2.849394379747939, 0.45842242204463923],
            [-6.954028509809101, 2.489845061869568, -10.358996098473584],
            [2.8029986275628964, 0.5072464736228206, -0.3988312541770524, -0.04721187230404641],
            a6,
            [*a6, 1.0],
            [*a6, 1.0, 1.0],
        ],
        [
            [],
            [-14.155112264123755],
            [-17.97296035885952, -2.859693295451294],
            [147.12150275711716, -1.41221402718213, 71.68940251302358],
            [165.43517024871676, -0.4592823456491126, 42.90938336958603, -5.961986721573306],
            [
                24.854864614690072,
                -3.0009227002832186,
                47.4931110020768,
                5.5814197821558125,
                -0.6610691825249471,
            ],
            [
                30.91273214028599,
                -3.1208243349937974,
                77.79954646070892,
                34.28646028294783,
                -19.097331116725623,
                -28.087943162872662,
            ],
            [
                37.80277123390563,
                -3.2571969029072276,
                112.26918849496327,
                66.9347231244047,
                -40.06618937091002,
                -54.66780262877968,
                -9.48861652309627,
            ],
        ],
        [*a6, 1.0, 1.0, 1.0],
        [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0],
        [
            [
                25.948786856663858,
                -2.5579724845846235,
                10.433815404888879,
                -2.3679251022685204,
                0.524948541321073,
                1.1241088310450404,
                0.4272876194431874,
                -0.17202221070155493,
            ],
            [
                -9.91568850695171,
                -0.9689944594115154,
                3.0438037242978453,
                -24.495224566215796,
                20.176138334709044,
                15.98066361424651,
                -6.789040303419874,
                -6.710236069923372,
            ],
            [
                11.419903575922262,
                2.8879645146136994,
                72.92137995996029,
                80.12511834622643,
                -52.072871366152654,
                -59.78993625266729,
                -0.15582684282751913,
                4.883087185713722,
            ],
        ],
    )


METHODS = {"rodas3": rodas3, "rodas4": rodas4, "rodas4p": rodas4p, "rodas5p": rodas5p}
