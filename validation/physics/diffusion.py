"""Moisture diffusion through the package's fluxes and stepper against exact series."""

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.linalg import eig

from dryingsim.kernels.grid import NODES
from dryingsim.model.slab import WATER_VOLUME
from dryingsim.simulate import DEFAULT_TOLERANCE
from validation.case import Case, Plot, Result
from validation.data import Table, example, table
from validation.setups import (
    MoistureOnly,
    constant_diffusivity,
    fixed_steps,
    order,
    plain_slabs,
    states_at,
    steady_air,
)

D, HALF = 3e-10, 3e-3  # m2/s and m: of the problems in dimensionless form any pair will do
FIXED = 1e12  # Biot number that stands for a fixed surface
SHARP = 3e-4  # of the whole way
SPACE = (
    f"what {NODES} nodes and the default steps are meant to give: of the way from start to end, "
    "in the time in which a hundredth of it passes at least"
)
FINE = 1e-5
FINER = "the steps are of 1e-7, so what is left is the grid's, of second order at the ends: 192 nodes are 150 times finer"


def linear(
    biot: float, nodes: int, tolerance: float, faces: tuple[float, float] = (1.0, 1.0)
) -> MoistureOnly:
    """Slab of half thickness HALF whose open faces have the Biot number `biot` (on HALF); X from 1 to 0."""
    slabs = plain_slabs(
        thickness=np.array([2.0 * HALF]), moisture=1.0, nodes=nodes, diffusivity=constant_diffusivity(D)
    )
    conductance = biot * D / HALF * slabs.initial_dry_density
    return MoistureOnly(slabs, conductance * np.array(faces)[:, None], 0.0, tolerance)


def profiles(biot: float, fourier: np.ndarray, nodes: int, tolerance: float) -> tuple[np.ndarray, np.ndarray]:
    """Mean (k,) and node values (k, n) of the moisture ratio at Fourier numbers on the half thickness."""
    system = linear(biot, nodes, tolerance)
    x = states_at(system, system.initial(1.0), fourier * HALF**2 / D, first_step=1e-6 * HALF**2 / D)
    return x @ system.share, x


def series_rows(biot: str) -> Table:
    return table("slab_series").where(biot=biot)


def series_case(biot: str, nodes: int, tolerance: float, allowed: float, reason: str) -> Case:
    rows = series_rows(biot)
    fourier = rows.column("fourier")
    value = FIXED if biot == "inf" else float(biot)

    def compute(full: bool) -> Result:
        mean, _ = profiles(value, fourier, nodes, tolerance)
        plot = Plot(
            title=f"Mean moisture ratio, Bi {biot}, {nodes} nodes",
            x_label="Fo",
            y_label="moisture ratio",
            points=(("series", fourier, rows.column("average")),),
            lines=(("package", fourier, mean),),
        )
        return Result(mean, (plot,) if nodes == NODES else ())

    return Case(
        name=f"slab, Bi {biot}: mean moisture, {nodes} nodes",
        kind=1,
        source=rows.source,
        status=rows.status,
        inputs=f"two faces, Bi {biot}, Fo {fourier[0]:g} to {fourier[-1]:g}, step tolerance {tolerance:g}",
        expected=rows.column("average"),
        tolerance=allowed,
        reason=reason,
        compute=compute,
    )


def local_case(biot: str) -> Case:
    rows = series_rows(biot)
    fourier = rows.column("fourier")
    columns = ("centre", "surface", "halfway")
    value = FIXED if biot == "inf" else float(biot)

    def compute(full: bool) -> np.ndarray:
        _, x = profiles(value, fourier, NODES, DEFAULT_TOLERANCE)
        nodes = linear(value, NODES, DEFAULT_TOLERANCE).slabs.nodes
        inside = CubicSpline(nodes, x, axis=1)  # finer than the linear interpolation between nodes
        return np.stack([inside(0.5), x[:, 0], inside(0.25)])

    return Case(
        name=f"slab, Bi {biot}: centre, face and half-way, {NODES} nodes",
        kind=1,
        source=rows.source,
        status=rows.status,
        inputs=f"as the mean, at three depths, Fo {fourier[0]:g} to {fourier[-1]:g}, default steps",
        expected=np.stack([rows.column(c) for c in columns]),
        tolerance=SHARP,
        reason=SPACE,
        compute=compute,
    )


def times_to(targets: np.ndarray, biot: float, faces: tuple[float, float], fourier: np.ndarray) -> np.ndarray:
    """Fo at which the mean reaches the targets, read from a curve through the given Fo; 96 nodes."""
    system = linear(biot, 96, 1e-7, faces)
    mean = states_at(system, system.initial(1.0), fourier * HALF**2 / D, 1e-7 * HALF**2 / D) @ system.share
    return np.exp(CubicSpline(-np.log(mean), np.log(fourier))(-np.log(targets)))


def one_sided(full: bool) -> np.ndarray:
    """Times to MR 0.5 and 0.2, one face over two: ruled by the inside, then (Bi 0.001) by the outside."""
    targets, inside, outside = np.array([0.5, 0.2]), np.geomspace(0.1, 1.0, 60), np.geomspace(300.0, 3e3, 60)
    inner = times_to(targets, FIXED, (1.0, 0.0), 4.0 * inside) / times_to(targets, FIXED, (1.0, 1.0), inside)
    outer = times_to(targets, 1e-3, (1.0, 0.0), 2.0 * outside) / times_to(targets, 1e-3, (1.0, 1.0), outside)
    return np.concatenate([inner, outer])


SHRINK_B, X0, XE = 1.3, 3.0, 0.15  # of shared/slab_shrinking.csv


PROMISED = {0.5: 0.196731, 0.3: 0.402850, 0.2: 0.567164, 0.1: 0.848085, 0.05: 1.129007}  # MR: exact Fo


def promised_times(targets: tuple[float, ...]) -> np.ndarray:
    """Fo at which the mean reaches the targets with fixed faces, from the default nodes and the default tolerance."""
    fourier = np.linspace(0.15, 1.2, 106)
    mean, _ = profiles(FIXED, fourier, NODES, 1e-3)
    return np.exp(CubicSpline(-np.log(mean), np.log(fourier))(-np.log(targets)))


def promise(targets: tuple[float, ...]) -> Case:
    shown = ", ".join(f"{t:g}" for t in targets)
    return Case(
        name=f"time to a moisture ratio of {shown}, {NODES} nodes",
        kind=1,
        source="slab with fixed faces, exact series (Crank 1975)",
        status="derived",
        inputs=f"fixed faces, {NODES} nodes, step tolerance 0.001; Fo at MR {shown}",
        expected=np.array([PROMISED[t] for t in targets]),
        tolerance=0.001,
        relative=True,
        reason=f"what {NODES} nodes are meant to give: the time to an end point within 0.1 %",
        compute=lambda full: promised_times(targets),
    )


def shrinking_case(letter: str, convention: str, what: str, column: str, allowed: float, reason: str) -> Case:
    rows = table("slab_shrinking").where(case=letter)
    times = rows.column("time_s")

    def compute(full: bool) -> Result:
        slabs = plain_slabs(
            thickness=np.array([6e-3]),
            moisture=X0,
            nodes=NODES,
            diffusivity=constant_diffusivity(3e-10, convention),  # type: ignore[arg-type]
            solid_volume=WATER_VOLUME / SHRINK_B,
        )
        conductance = FIXED * D / HALF * slabs.initial_dry_density * np.ones((2, 1))
        system = MoistureOnly(slabs, conductance, XE, 1e-3 * (X0 - XE))
        mean = states_at(system, system.initial(X0), times, 1e-3) @ system.share
        values = {
            "moisture_ratio": (mean - XE) / (X0 - XE),
            "half_thickness_mm": 500.0 * slabs.thickness(mean),
        }[column]
        plot = Plot(
            title=f"Shrinking slab, case {letter}: {what}",
            x_label="hours",
            y_label=what,
            points=(("reference", times / 3600.0, rows.column(column)),),
            lines=(("package", times / 3600.0, values),),
        )
        return Result(values, (plot,))

    return Case(
        name=f"shrinking slab {letter} ({convention}): {what}, {NODES} nodes",
        kind=1,
        source=rows.source,
        status=rows.status,
        inputs=f"diffusivity convention {convention!r}, X 3 to 0.15, b 1.3, 6 mm, D 3e-10, "
        f"{times[0]:g}-{times[-1]:g} s",
        expected=rows.column(column),
        tolerance=allowed,
        reason=reason,
        compute=compute,
    )


def bar(full: bool) -> Result:
    """Mean moisture ratio of strips 1, 2 and 4 times as wide as thick, faces and edges fixed at zero."""
    start, fourier, ratios = 2.0, np.array([0.01, 0.05, 0.1, 0.2, 0.4, 0.8]), (1.0, 2.0, 4.0)
    rows = []
    for ratio in ratios:
        slabs = plain_slabs(
            thickness=np.array([2.0 * HALF]),
            moisture=start,
            nodes=96,
            diffusivity=constant_diffusivity(D),
            edge_length=ratio * HALF,
        )
        conductance = FIXED * D / HALF * slabs.initial_dry_density * np.ones((2, 1))
        air = steady_air(temperature=np.array([313.15]), film=np.array([1.0]), mass_factor=1e-6).at(0.0)
        film = np.array([1e9])  # the film lets all pass
        system = MoistureOnly(slabs, conductance, 1e-6, 1e-6, air, film)  # not quite zero: D(X) divides by X
        x = states_at(system, system.initial(start), fourier * HALF**2 / D, 1e-6)
        rows.append(x @ system.share / start)
    plot = Plot(
        title="Strips: slab with edge exchange against the product of two slabs",
        x_label="Fo on half the thickness",
        y_label="moisture ratio",
        points=tuple((f"width/thickness {r:g}", fourier, bar_exact(fourier, r)) for r in ratios),
        lines=tuple((f"package {r:g}", fourier, row) for r, row in zip(ratios, rows, strict=True)),
    )
    return Result(np.stack(rows), (plot,))


def slab_exact(fourier: np.ndarray) -> np.ndarray:
    """Mean moisture ratio of a slab with fixed faces: 200 terms of the series."""
    k = (2.0 * np.arange(200) + 1.0)[:, None]
    return np.sum(8.0 / (np.pi * k) ** 2 * np.exp(-((0.5 * np.pi * k) ** 2) * fourier), axis=0)


def bar_exact(fourier: np.ndarray, ratio: float) -> np.ndarray:
    """Newman's product: slab over the thickness times slab over the width."""
    return slab_exact(fourier) * slab_exact(fourier / ratio**2)


def order_in_space(biot: float) -> Result:
    sizes = np.array([12, 24, 48, 96, 192])
    name = "inf" if biot == FIXED else f"{biot:g}"
    rows = series_rows(name).where(fourier=0.2)
    exact = rows.column("average")[0]
    errors = np.array([profiles(biot, np.array([0.2]), int(n), 1e-8)[0][0] - exact for n in sizes])
    return convergence(f"Grid: error of the mean at Fo 0.2, Bi {name}", "nodes - 1", sizes - 1, errors)


def order_in_time() -> Result:
    """A slab in its slowest mode decays as one exponential of the *discrete* equations: the error is time's alone."""
    system = linear(1.0, NODES, 1.0)
    matrix = np.stack([system.rhs(0.0, e) for e in np.eye(system.n)], axis=1)
    mass = np.stack([system.weigh(e) for e in np.eye(system.n)], axis=1)
    rates, modes = eig(matrix, mass)
    slowest = int(np.argmax(rates.real))
    mode = np.abs(modes[:, slowest].real)
    end = 1.0 / -rates[slowest].real
    counts = np.array([4, 8, 16, 32])
    exact = float(system.share @ mode) * np.exp(-1.0)
    errors = np.array([float(system.share @ fixed_steps(system, mode, end, int(k))) - exact for k in counts])
    return convergence("Steps: error of a decaying mode after one e-folding", "steps", counts, errors)


def convergence(title: str, label: str, sizes: np.ndarray, errors: np.ndarray) -> Result:
    slope = order(sizes, errors)
    fit = np.abs(errors[-1]) * (sizes / sizes[-1]) ** -slope
    plot = Plot(
        title=f"{title}: order {slope:.2f}",
        x_label=label,
        y_label="error",
        points=(("error", sizes, np.abs(errors)),),
        lines=(("fit", sizes, fit),),
        log=True,
    )
    return Result(slope, (plot,))


def tapioca_time(full: bool) -> float:
    """Hours to X/Xc = 0.20 of a 3 mm slice that dries from both faces, D 3.44e-10 m2/s."""
    return float(promised_times((0.20,))[0]) * 1.5e-3**2 / 3.44e-10 / 3600.0


def wood_time(full: bool) -> float:
    """Hours from 0.29 to 0.09 kg/kg (equilibrium 0.04) of a 25.4 mm plank, D 2.97e-6 m2/h."""
    return float(promised_times((0.20,))[0]) * (0.5 * 25.4e-3) ** 2 / 2.97e-6


BIOTS = ("0.1", "0.5", "1", "2", "5", "10", "50", "100", "inf")
PRODUCT = (
    "the edge's decay rate joins two expansions that agree to 0.3 %; up to Fo 0.8 on a square bar the logarithm of "
    "MR gathers 0.003 x 2.2, and MR |ln MR| x 0.003 is 0.0011 at most"
)

CASES = [
    *(series_case(b, NODES, 1e-3, SHARP, SPACE) for b in BIOTS),
    *(local_case(b) for b in BIOTS),
    *(series_case(b, 192, 1e-7, FINE, FINER) for b in ("1", "inf")),
    promise((0.5, 0.3, 0.2, 0.1, 0.05)),
    Case(
        name="one face against two: factor 4 inside, 2 outside",
        kind=1,
        source="scaling of the slab series (Crank 1975); Treybal 4.2 prints 302 h against 75 h",
        status="derived",
        inputs="ratio of times to MR 0.5 and 0.2; fixed surface, then Bi 0.001 on half the thickness",
        expected=np.array([4.0, 4.0, 2.0, 2.0]),
        tolerance=0.001,
        relative=True,
        reason="96 nodes: a sixteenth of 0.5 % in each of two times; with Bi 0.001 the inside still adds Bi/3",
        compute=one_sided,
    ),
    shrinking_case("A", "dry_mass", "moisture ratio", "moisture_ratio", SHARP, SPACE),
    shrinking_case(
        "A",
        "dry_mass",
        "half thickness, mm",
        "half_thickness_mm",
        2.27 * SHARP,
        SPACE + ", times b (X0-Xe) L0/(1+b X0) = 2.27 mm",
    ),
    shrinking_case("B", "local", "moisture ratio", "moisture_ratio", SHARP, SPACE),
    Case(
        name="strips: Newman's product rule through the edge exchange",
        kind=1,
        source="Newman (1936): the moisture ratio of a bar is the product of two slabs'",
        status="derived",
        inputs="width 1, 2, 4 times the thickness, Fo 0.01 to 0.8, infinite film, 96 nodes",
        expected=lambda full: np.stack(
            [bar_exact(np.array([0.01, 0.05, 0.1, 0.2, 0.4, 0.8]), r) for r in (1.0, 2.0, 4.0)]
        ),
        tolerance=0.0012,
        reason=PRODUCT,
        compute=bar,
    ),
    *(
        Case(
            name=f"order of convergence in space, Bi {name}",
            kind=1,
            source=table("slab_series").source,
            status=table("slab_series").status,
            inputs="mean at Fo 0.2 on 12 to 192 nodes, step tolerance 1e-8",
            expected=1.9,
            tolerance=0.0,
            bound="at least",
            reason="second order in theory; 0.1 for the coarsest grids",
            compute=lambda full, biot=biot: order_in_space(biot),
        )
        for name, biot in (("1", 1.0), ("inf", FIXED))
    ),
    Case(
        name="order of convergence in time",
        kind=1,
        source="third order for any matrix: Rang & Angermann (2005)",
        status="read",
        inputs="slowest mode of a slab, Bi 1, 4 to 32 equal steps over one e-folding",
        expected=2.8,
        tolerance=0.0,
        bound="at least",
        reason="third order in theory; 0.2 for the longest steps",
        compute=lambda full: order_in_time(),
    ),
    Case(
        name="time to dry a food slice (Geankoplis 9.9-2)",
        kind=2,
        source=example("GK9.9-2")["source"],
        status=example("GK9.9-2")["status"],
        inputs="3 mm, two faces, D 3.44e-10 m2/s, X/Xc 0.20",
        expected=1.02,
        tolerance=0.02,
        unit="h",
        reason="the book reads Fo from a chart: its 0.56 against 0.567, 1.3 %; and the last digit of 1.02",
        compute=tapioca_time,
    ),
    Case(
        name="time to dry a plank (Geankoplis 9.9-1)",
        kind=2,
        source=example("GK9.9-1")["source"],
        status=example("GK9.9-1")["status"],
        inputs="25.4 mm, two faces, D 2.97e-6 m2/h, X 0.29 to 0.09, equilibrium 0.04",
        expected=30.8,
        tolerance=0.005 * 30.8 + 0.05,
        unit="h",
        reason=f"{NODES} nodes promise 0.5 %, and the last digit printed",
        compute=wood_time,
    ),
]
