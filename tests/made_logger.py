"""One invented hour and a half of readings, written in the layouts that loggers have; nobody's device is meant."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from made_readings import simulated

from dryingsim.properties import moist_air
from dryingsim.properties.water import saturation_pressure

MINUTES = np.arange(0.0, 91.0)


@dataclass(frozen=True)
class Truth:
    """What the probes show each minute, rounded as a logger does: degC, and percent."""

    meat: np.ndarray
    air: np.ndarray
    wet: np.ndarray
    rh: np.ndarray


INVENTED = Truth(
    meat=(4.0 + 58.0 * -np.expm1(-MINUTES / 14.0)).round(1),
    air=(66.0 + np.sin(MINUTES)).round(1),
    wet=(61.0 - 0.5 * np.cos(MINUTES)).round(1),
    rh=(75.0 + 3.0 * np.sin(MINUTES / 7.0)).round(1),
)
START = datetime(2026, 3, 14, 10, 5)


@dataclass(frozen=True)
class Layout:
    """A file as bytes, and what has to be said for it to be read (nothing, mostly)."""

    name: str
    content: bytes
    columns: str | None = None
    dates: str | None = None
    has: tuple[str, ...] = ("meat",)


def fahrenheit(celsius):
    return (1.8 * np.asarray(celsius) + 32.0).round(1)


def stamps(pattern, start=START):
    return [(start + timedelta(minutes=minute)).strftime(pattern) for minute in MINUTES]


def table(head, columns, mark=",", comma=False):
    """Return lines of cells; with decimal commas where told."""
    lines = [mark.join(head)]
    for cells in zip(*columns, strict=True):
        typed = [cell if isinstance(cell, str) else f"{cell:.1f}" for cell in cells]
        if comma:
            typed = [
                c if isinstance(cell, str) else c.replace(".", ",")
                for c, cell in zip(typed, cells, strict=True)
            ]
        lines.append(mark.join(typed))
    return "\n".join(lines) + "\n"


def simulated_truth(schedule, seed):
    """Return what probes in a simulated slice and its air show: they lag, and their readings are noisy."""
    history = simulated(schedule)
    time, rng = 60.0 * MINUTES, np.random.default_rng(seed)
    fine = np.arange(0.0, time[-1] + 1.0, 5.0)
    meat = np.interp(fine, history.time_s, history.temperature_K[:, history.temperature_K.shape[1] // 2, 0])
    for i in range(1, fine.size):
        meat[i] = meat[i - 1] + (meat[i] - meat[i - 1]) * -np.expm1(-5.0 / 25.0)
    air = np.interp(time, history.time_s, history.air_temperature_K[:, 0])
    vapour = np.interp(time, history.time_s, history.air_vapour_pressure_Pa[:, 0])
    wet = moist_air.wet_bulb(air, vapour, 101325.0)
    noisy = [
        kelvin - 273.15 + rng.normal(0.0, 0.2, MINUTES.size)
        for kelvin in (np.interp(time, fine, meat), air, wet)
    ]
    rh = (100.0 * vapour / saturation_pressure(air) + rng.normal(0.0, 1.0, MINUTES.size)).clip(2.0, 99.0)
    return Truth(*(values.round(1) for values in (*noisy, rh)))


def layouts(truth=INVENTED):
    """Return plausible layouts, sixteen of them; all hold the same readings."""
    both = ("meat", "air")
    n = [str(i + 1) for i in range(MINUTES.size)]
    day, clock = stamps("%d.%m.%Y"), stamps("%H:%M:%S")
    iso, us = stamps("%Y-%m-%d %H:%M:%S"), stamps("%m/%d/%Y %I:%M:%S %p")
    f_meat, f_air, f_wet = map(fahrenheit, (truth.meat, truth.air, truth.wet))
    title = "Drying logger, unit 3\nSerial number: 00417\nStart: 14.03.2026 10:05\n\n"
    yield Layout(
        "titles, semicolons, decimal commas, date and time apart",
        (
            title
            + table(
                ["Date", "Time", "Core [°C]", "Chamber [°C]"],
                [day, clock, truth.meat, truth.air],
                ";",
                comma=True,
            )
        ).encode("cp1252"),
        has=both,
    )
    yield Layout(
        "US dates, half days, Fahrenheit, a battery",
        table(
            ["Date/Time", "Meat (°F)", "Air (°F)", "Battery (V)"], [us, f_meat, f_air, [3.1] * 91]
        ).encode(),
        has=both,
    )
    yield Layout(
        "ISO with zone, a row number, tabs, humidity",
        table(
            ["No.", "Timestamp", "Probe in slice °C", "Ambient °C", "RH %"],
            [n, stamps("%Y-%m-%dT%H:%M:%S+01:00"), truth.meat, truth.air, truth.rh],
            "\t",
        ).encode(),
        has=(*both, "relative_humidity"),
    )
    yield Layout(
        "channels without names",
        table(["Time", "CH1", "CH2", "CH3"], [iso, f_meat, f_air, f_wet]).encode(),
        columns="meat=CH1 [degF], air=CH2 [degF], wet_bulb=CH3 [degF]",
        has=(*both, "wet_bulb"),
    )
    yield Layout(
        "units in a line of their own, UTF-16",
        (
            "Export\n"
            + table(
                ["Time", "Meat", "Dry bulb", "Wet bulb"], [iso, truth.meat, truth.air, truth.wet], "\t"
            ).replace("Wet bulb\n", "Wet bulb\nhh:mm:ss\t°C\t°C\t°C\n")
        ).encode("utf-16"),
        has=(*both, "wet_bulb"),
    )
    yield Layout(
        "channels above names",
        ("Channel,1,2\n" + table(["Time", "Meat °C", "Oven °C"], [iso, truth.meat, truth.air])).encode(),
        has=both,
    )
    yield Layout(
        "units behind the numbers, a footer",
        (
            table(
                ["time stamp", "food", "cabinet"],
                [iso, [f"{v} °C" for v in truth.meat], [f"{v} °C" for v in truth.air]],
            )
            + "End of data\nMinimum,4.0,65.0\n"
        ).encode(),
        has=both,
    )
    yield Layout(
        "elapsed minutes, unit among the titles",
        (
            "Temperature unit: Fahrenheit\n" + table(["Elapsed (min)", "Internal temp"], [MINUTES, f_meat])
        ).encode(),
    )
    yield Layout(
        "elapsed as h:min:s, newest first",
        (
            "Elapsed time;Temp °C\n"
            + "\n".join(
                f"{int(m) // 60:02d}:{int(m) % 60:02d}:00;{v}"
                for m, v in zip(MINUTES[::-1], truth.meat[::-1], strict=True)
            )
        ).encode(),
    )
    yield Layout(
        "months by name, past midnight",
        table(
            ["When", "Meat_degC"], [stamps("%d-%b-%Y %H:%M:%S", datetime(2026, 3, 1, 23, 30)), truth.meat]
        ).encode(),
    )
    yield Layout(
        "the day alone, half days, past noon",
        table(["Time", "MeatTemp °F"], [stamps("%I:%M:%S %p", datetime(2026, 3, 1, 11, 0)), f_meat]).encode(),
    )
    yield Layout(
        "year first with slashes, quoted, percent signs",
        table(
            ["Date", "Slice °C", "Air temp °C", "Humidity"],
            [
                [f'"{t}"' for t in stamps("%Y/%m/%d %H:%M:%S")],
                truth.meat,
                truth.air,
                [f"{v} %RH" for v in truth.rh],
            ],
        ).encode(),
        has=(*both, "relative_humidity"),
    )
    yield Layout(
        "seconds since 1970",
        table(["epoch", "meat °C"], [[str(1773482700 + 60 * int(m)) for m in MINUTES], truth.meat]).encode(),
        columns="time=epoch",
    )
    yield Layout(
        "dates that may be either way, as said",
        table(
            ["Date", "Meat °C"], [stamps("%d/%m/%Y %H:%M", datetime(2026, 3, 4, 10, 5)), truth.meat]
        ).encode(),
        dates="day-first",
    )
    yield Layout(
        "a clock set back by an hour",
        table(
            ["Time", "Meat °C"],
            [
                [
                    f"2026-10-25 {t}"
                    for t in (
                        *stamps("%H:%M:%S", datetime(2026, 10, 25, 2, 20))[:40],
                        *stamps("%H:%M:%S", datetime(2026, 10, 25, 1, 20))[40:],
                    )
                ],
                truth.meat,
            ],
        ).encode(),
    )
    yield Layout(
        "marks for no reading, lines that stand twice",
        _with_marks(table(["Time", "Meat °C", "Air °C"], [iso, truth.meat, truth.air])).encode(
            "cp437", "replace"
        ),
        has=both,
    )


def _with_marks(text):
    lines = text.splitlines()
    lines[8] = lines[8].split(",")[0] + ",---,---"
    lines[9] = lines[9].split(",")[0] + ",ERR," + lines[9].split(",")[2]
    lines[10] = lines[10].split(",")[0] + ",-999.9," + lines[10].split(",")[2]
    lines.insert(20, lines[19])
    lines.insert(40, lines[0])  # the heading again, as on a new page
    return "\n".join(lines) + "\n"
