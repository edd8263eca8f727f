"""Commands that work, with the files they read: what the fuzz mutates. Batches are short and light, so that they are quick."""

from dataclasses import dataclass, field

MEAT = """
[meat]
cut = "beef eye of round"
form = "sliced"
thickness = "3 mm"
length = "120 mm"
width = "50 mm"
weight = "0.7 kg"
temperature = "4 degC"
"""
OWN_MEAT = """
[meat]
form = "ground"
species = "poultry"
thickness = [{ value = "3 mm", share = "25 %" }, { value = "1/6 inch", share = "75 %" }]
length = "4 inch"
width = "1.5 inch"
weight = "1 lb 9 oz"
[meat.composition]
water = "73.4 %"
protein = "23.4 %"
fat = "3.0 %"
ash = "1.1 %"
"""
ROOM = """
[room]
temperature = "21 degC"
humidity = "45 %"
"""
STAGE = """
[[stage]]
name = "drying"
air = "155 degF"
humidity = "room"
speed = "1.0 m/s"
duration = "20 min"
"""
SHORT = f'title = "Short"\n{MEAT}{ROOM}{STAGE}'
LONG = f"""
title = "Many keys"
{OWN_MEAT}
[marinade]
salt = "15 g/kg"
sugar = "1.2 %"
water = "20 g/kg"
{ROOM}altitude = "1600 m"
[trays]
support = "sheet"
[[stage]]
name = "warming"
air = "50 degC"
air_end = "65 degC"
humidity = {{ wet_bulb = "40 degC", measured = true }}
humidity_end = {{ wet_bulb = "45 degC" }}
speed = "1.0 m/s"
speed_end = "200 ft/min"
duration = "15 min"
[[stage]]
air = "70 degC"
speed = "1 m/s"
turn = true
until = {{ weight_loss = "10 %", core = "60 degC", water_activity = 0.95 }}
duration = "20 min"
[targets]
water_activity = 0.85
[display]
units = "us"
"""
DRYER = f"""
title = "In a dehydrator"
{MEAT}{ROOM}
[trays]
count = 5
rotate_every = "8 min"
[appliance]
use = "stacked dehydrator"
heater.power = "600 W"
air.leak = "2 m3/h"
[[stage]]
air = "68 degC"
duration = "20 min"
"""
OVEN = f"""
title = "Door ajar"
{MEAT}{ROOM}
[appliance]
use = "oven with fan"
door.gap = "50 mm"
[[stage]]
air = "75 degC"
door_gap = "20 mm"
duration = "15 min"
"""
OWN_DRYER = f"""
title = "In a dehydrator of my own"
{MEAT}{ROOM}
[appliance]
file = "dryer.toml"
[[stage]]
air = "68 degC"
duration = "15 min"
"""
APPLIANCE = """
name = "own dehydrator"
about = "round trays in a stack"
preheated = { value = true, source = "common practice, no source" }
[trays]
slots = { value = 5, range = [4, 6], source = "counted" }
length = { value = "260 mm", range = ["220 mm", "300 mm"], source = "ruler" }
width = { value = "260 mm", source = "ruler" }
[air]
path = { value = "series", source = "by the kind of appliance" }
circulation = { value = "68 m3/h", range = ["34 m3/h", "102 m3/h"], source = "estimate" }
speed = "1.18 m/s"
vents = { value = "0.917 m3/h", range = ["0 m3/h", "3.54 m3/h"], source = "measured by pan test" }
leak = "1.75 m3/h"
[heater]
power = { value = "450 W", range = ["300 W", "600 W"], source = "label" }
fan_power = "25 W"
radiant_share = "10 %"
highest = "160 degF"
control = "ideal"
sensor = "supply"
[walls]
volume = "20 L"
area = "0.5 m2"
film = "10 W/m2K"
capacity = "3 kJ/K"
floor_capacity = "0.6 kJ/K"
loss = { value = "2 W/K", range = ["1 W/K", "3 W/K"], source = "estimate" }
"""
LEARNED = """
about = "two weighings"
logs = ["first.csv"]
appliance = "air as the stages say"
[corrections]
diffusivity = { factor = 0.9, uncertainty = "12 %" }
film = { factor = 1.05, uncertainty = "10 %" }
setpoint = { offset = "-1.2 K", uncertainty = "1.1 K" }
moisture = { offset = "0.2 %", uncertainty = "0.6 %" }
"""
SPREAD = """
[spread]
thickness_between = "10 %"
diffusivity = { lognormal = "57 %" }
setpoint = { uniform = "6 degF" }
room_humidity = { normal = "8 %" }
marinade = "15 %"
"""
PLAN = """
[plan]
aim = "time"
in_window = "60 %"
reserve = 0.5
[plan.between]
stage.1.air = ["58 degC", "70 degC"]
stage.1.duration = ["10 min", "20 min"]
"""
WEIGHINGS = """# batch: b.toml
# date: 2026-03-08
time, weight [g], air [degC], note
10:05, 700, , trays in
10:15, 668, 66,
10:25, 631, 67, "turned, looked"
10:40, 590, 68,
"""
SLICES = """time [min]; slice; weight [oz]; tare [g]; meat [degF]
0; left one, 3 mm; 1,10; 5; 40
10; left one, 3 mm; 1,02; 5; 90
20; left one, 3 mm; 0,95; 5; 105
"""
THERMOMETER = """# the middle of the thickest slice
time [min], temperature [degC], water_activity, relative_humidity [%]
0, 4.0, 0.99, 62
5, 29.0, 0.99, 88
10, 43.5, 0.99, 93
15, 51.0, 0.99, 94
20, 55.2, 0.985, 95
25, 57.6, 0.98, 95
30, 58.9, 0.97, 94
"""
CLOCK = """time;meat [°F];air [°F];note
1:05 pm;41;150;in
1:10 pm;63,4;152;
1:15 pm;90;153;looked
1:20 pm;104;155;
1:25 pm;112,5;155;
"""
SOAK = """
title = "Soy and brown sugar"
[meat]
cut = "beef eye of round"
weight = "0.7 kg"
thickness = "5 mm"
form = "sliced"
[marinade]
time = "24 h"
temperature = "4 degC"
gained = "40 g/kg"
[[ingredient]]
name = "soy sauce"
amount = "100 mL"
[[ingredient]]
name = "brown sugar"
amount = "2 tbsp"
[[ingredient]]
name = "house sauce"
amount = "30 mL"
water = "65 %"
salt = "11 %"
sugar = "12 %"
acid = "1 %"
nitrite = "0.01 %"
tablespoon = "17 g"
[dried]
water_activity = 0.85
[display]
units = "metric"
"""


@dataclass(frozen=True, slots=True)
class Command:
    """What is typed, and the files that lie in the folder where it is."""

    words: tuple[str, ...]
    files: dict[str, bytes] = field(default_factory=dict)
    share: float = 1.0  # how often it is tried, against the others
    least_slips: int = 1  # more where a command that still works takes long


def _command(words: str, share: float = 1.0, least_slips: int = 1, **texts: str) -> Command:
    """Return a command of words separated by |, with files whose names have __ for the point and _in_ for the folder."""
    files = {
        name.replace("_in_", "/").replace("__", "."): text.lstrip("\n").encode()
        for name, text in texts.items()
    }
    return Command(tuple(words.split("|")), files, share, least_slips)


_ROOM = "--room|21 degC|--room-humidity|45 %"
_SLICES = "--thickness|5 mm|--length|5 inch|--width|2 inch"
COMMANDS = (
    _command("run|b.toml", 3, b__toml=SHORT),
    _command("run|b.toml", 4, b__toml=LONG),
    _command("run|b.toml|--json", 3, b__toml=DRYER),
    _command("run|b.toml|--units|us|--price|0.30 EUR/kWh", 2, b__toml=OVEN),
    _command("run|b.toml|--meat-price|12.50 USD/lb|--ingredients|3 USD|--quiet", 1, b__toml=SHORT),
    _command("run|b.toml", 3, b__toml=OWN_DRYER, dryer__toml=APPLIANCE),
    _command("run|b.toml", 2, b__toml=SHORT + '[learned]\nfile = "learned.toml"\n', learned__toml=LEARNED),
    _command("run|b.toml|--out|results|--pictures|svg", 0.3, 2, b__toml=SHORT),
    _command("spread|b.toml|--slices|64|--seed|3|--workers|1", 2, b__toml=SHORT + SPREAD),
    _command(
        "map|b.toml|--over|meat.thickness = 3 to 4 mm in 2|--over|film = 0.8, 1.2|--workers|1",
        2,
        b__toml=SHORT,
    ),
    _command("map|b.toml|--over|stage.1.air = 60, 70 degC|--workers|1|--json", 1, b__toml=OVEN),
    _command("compare|a.toml|b.toml|--price|0.30 EUR/kWh", 2, a__toml=DRYER, b__toml=LONG),
    _command("compare|b.toml|--vary|stage.1.air = 60, 140 degF|--units|us", 2, b__toml=SHORT),
    _command("plan|b.toml|--seed|1|--workers|1|--units|us", 1.2, 2, b__toml=SHORT + PLAN),
    _command("learn|b.toml|log.csv", 2.5, 3, b__toml=SHORT, log__csv=WEIGHINGS),
    _command(
        "learn|b.toml|log.csv|--out|learned.toml|--force",
        1,
        3,
        b__toml=SHORT,
        log__csv=SLICES,
        learned__toml=LEARNED,
    ),
    _command(
        "logbook|book|--workers|1|--units|metric", 1, 3, book_in_b__toml=SHORT, book_in_log__csv=WEIGHINGS
    ),
    _command("thermometer|log.csv", 4, log__csv=THERMOMETER),
    _command(
        "thermometer|log.csv|--water-activity|0.99|--species|poultry|--units|us|--json", 3, log__csv=CLOCK
    ),
    _command("marinate|soak.toml|--time|12 h|--units|metric", 4, soak__toml=SOAK),
    _command("marinate|--new|soak.toml", 0.5),
    _command("firm|--thickness|60 mm|--width|90 mm|--length|150 mm|--cut|pork loin|--salt|5 g/kg", 2),
    _command("firm|--thickness|2 inch|--air|fan|--start|40 degF|--freezer|-10 degC|--out|ice.csv|--json", 1),
    _command("load|--weight|0.7 kg|--thickness|5 mm|--length|120 mm|--width|50 mm|--gap|5 mm", 1),
    _command(f"load|--weight|2 lb|{_SLICES}|--appliance|dryer.toml", 2, dryer__toml=APPLIANCE),
    _command(f"load|--weight|2 lb|{_SLICES}|--tray-length|1 ft|--tray-width|1 ft", 1),
    _command("store|b.toml|--package|jar|--for|60 days|--gel|5 g", 1.5, b__toml=SHORT),
    _command(
        "store|--weight|270 g|--raw|700 g|--size|18 cm x 20 cm|--salt|15 g/kg|--sugar|1 %|--room|70 degF", 2
    ),
    _command(
        "store|--weight|270 g|--water-activity|0.8|--cut|beef top round|--thickness|5 mm|--room-humidity|60 %",
        2,
    ),
    _command("sheet|b.toml|--out|sheet.pdf|--units|us", 0.7, b__toml=SHORT),
    _command("report|b.toml|--out|page.html|--workers|1", 0.7, 2, b__toml=SHORT),
    _command(
        "measure|pan|stacked dehydrator|--length|200 mm|--width|15 cm|--lost|38 g|--during|1 h|--air|155 degF|"
        f"--wet-bulb|30 degC|{_ROOM}|--altitude|300 m|--scale-error|1 g",
        2,
    ),
    _command(
        "measure|warm-up|dryer.toml|--heating|1 min = 45 degC, 5 min = 75 degC|--cooling|0 min = 68 degC, "
        f"40 min = 40 degC|{_ROOM}|--power|450 W|--out|new.toml",
        2,
        dryer__toml=APPLIANCE,
    ),
    _command("list|cuts", 0.3),
    _command("list|appliances|oven with fan|--json", 0.7),
    _command("new|mine.toml", 0.5),
    _command("examples|folder", 0.2),
)
