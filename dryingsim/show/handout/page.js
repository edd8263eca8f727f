"use strict";
// A batch told between the points of its grid; the same rules as dryingsim/explore/slider_grid.py, which measures their error.
const data = JSON.parse(document.getElementById("data").textContent);
const element = (id) => document.getElementById(id);
const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
const { axes, progress, judged, depth, shares, words } = data;
const points = axes.reduce((count, axis) => count * axis.nodes.length, 1), nodes = depth.length;
const stored = (levels) => ({ ...levels, level: bytes(levels.level) });
const moisture = stored(data.moisture), temperature = stored(data.temperature);
const verdicts = Object.fromEntries(Object.entries(data.verdicts).map(([name, text]) => [name, bytes(text)]));
const state = { stops: { ...data.start }, units: data.units, course: null, now: null };
const root = progress.map(Math.sqrt), judgedRoot = judged.map((look) => root[look]);

// --- between the points -----------------------------------------------------------------------------------------------
const coordinates = { log: Math.log, inverse: (value) => 1 / value, even: (value) => value };

function weightsOf(axis, value) {
  const at = axis.nodes.map(coordinates[axis.scale]), x = coordinates[axis.scale](value);
  return at.map((node, i) => at.reduce((product, other, j) => (i === j ? product : product * (x - other) / (node - other)), 1));
}

function nearby(axis, value) {
  const last = axis.nodes.length - 1, inside = Math.min(Math.max(value, axis.nodes[0]), axis.nodes[last]);
  const above = axis.nodes.findIndex((node) => node >= inside);
  return axis.nodes[above] === inside ? [above] : [above - 1, above];
}

// of every combination of the axes' entries: the product, or the place in the grid
const combined = (lists, join, begin) => lists.reduce((all, list) => all.flatMap((one) => list.map((next) => join(one, next))), [begin]);
const sum = (values) => values.reduce((total, value) => total + value, 0);

function pointsAround(settings) {
  let places = [0];
  axes.forEach((axis, i) => {
    const next = nearby(axis, settings[i]);
    places = places.flatMap((place) => next.map((node) => place * axis.nodes.length + node));
  });
  return places;
}

function between(levels, weights) {
  const rows = progress.map(() => new Float64Array(nodes));
  for (let look = 0, base = 0; look < rows.length; look++) {
    for (let node = 0; node < nodes; node++, base += points) {
      let level = 0;
      for (let point = 0; point < points; point++) level += weights[point] * levels.level[base + point];
      rows[look][node] = levels.low[look] + levels.step[look] * level;
    }
  }
  return rows;
}

function place(roots, share) {
  const at = Math.min(Math.sqrt(share), roots[roots.length - 1]);
  let first = roots.length - 2;
  while (first > 0 && roots[first] > at) first--;
  return [first, (at - roots[first]) / (roots[first + 1] - roots[first])];
}

// what is told of the settings at all times
function courseOf(settings) {
  const each = axes.map((axis, i) => weightsOf(axis, settings[i]));
  const weights = combined(each, (product, weight) => product * weight, 1);
  const ready = Math.exp(sum(weights.map((weight, point) => weight * Math.log(data.ready[point]))));
  const rows = between(moisture, weights), mean = rows.map((row) => sum(shares.map((share, node) => share * row[node])));
  const wetBulb = sum(data.wetBulb.flatMap((row, j) => row.map((bulb, k) => bulb * each[1][j] * each[2][k])));
  return { settings, ready, mean, wetBulb, moisture: rows, temperature: between(temperature, weights), around: pointsAround(settings) };
}

const along = (rows, first, share) => Array.from(rows[first], (value, node) => value + share * (rows[first + 1][node] - value));

function momentOf(course, time) {
  const [first, share] = place(root, time / course.ready);
  const profile = along(course.moisture, first, share), warm = along(course.temperature, first, share);
  const mean = course.mean[first] + share * (course.mean[first + 1] - course.mean[first]);
  return { time, mean, moisture: profile, temperature: warm, verdict: verdictOf(course.around, time) };
}

// that of the worst of the grid's points around, each as it was when last judged before
function verdictOf(around, time) {
  let worst = null, best = Infinity, grown = false;
  for (const point of around) {
    const [first] = place(judgedRoot, time / data.ready[point]), at = first * points + point;
    const organism = data.organisms[verdicts.organism[at]], lower = verdicts.lower[at] / 10;
    const grade = Math.min(verdicts.grade[at], verdicts.grade[at + points]), rank = grade + 1e-3 * (lower - organism.target);
    best = Math.min(best, verdicts.best[at] / 10);
    grown = grown || verdicts.grown[at + points] > 0;
    if (!worst || rank < worst.rank) worst = { rank, grade, lower, organism };
  }
  return { ...worst, best, grown };
}

// when the mean moisture is down to a level
function timeDownTo(course, level) {
  const after = course.mean.findIndex((mean) => mean <= level);
  if (after < 1) return after === 0 ? 0 : Infinity;
  const share = (course.mean[after - 1] - level) / (course.mean[after - 1] - course.mean[after]);
  return course.ready * (root[after - 1] + share * (root[after] - root[after - 1])) ** 2;
}

function interpolated(xs, ys, x) {
  if (x <= xs[0]) return ys[0];
  const after = xs.findIndex((value) => value >= x);
  if (after < 0) return ys[ys.length - 1];
  return ys[after - 1] + (ys[after] - ys[after - 1]) * (x - xs[after - 1]) / (xs[after] - xs[after - 1]);
}

const saturation = (kelvin) => Math.exp(interpolated(data.saturation.kelvin, data.saturation.ln, kelvin));
const ratioOf = (vapour) => data.vapourRatio * vapour / (data.pressure - vapour);

// --- as it is printed -------------------------------------------------------------------------------------------------
const shownAs = (kind, si) => si * data.systems[state.units][kind].factor + data.systems[state.units][kind].offset;

function printed(kind, si) {
  const unit = data.systems[state.units][kind], value = shownAs(kind, si);
  if (unit.symbol === "oz" && value >= 15.95) {
    const tenths = Math.round(10 * value), pounds = Math.floor(tenths / 160);
    return `${pounds} lb ${((tenths - 160 * pounds) / 10).toFixed(1)} oz`;
  }
  const number = value.toFixed(unit.decimals);
  return `${kind === "length" ? number.replace(/\.0$/, "") : number} ${unit.symbol}`;
}

function clock(seconds) {
  const minutes = Math.round(seconds / 60), hours = Math.floor(minutes / 60), rest = minutes % 60;
  return !hours ? `${rest} min` : rest ? `${hours} h ${rest} min` : `${hours} h`;
}

const about = (seconds) => clock(seconds < 600 ? seconds : 300 * Math.round(seconds / 300));
const percent = (share) => `${(100 * share).toFixed(0)} %`;
const logs = (reduction) => (reduction < data.countable ? reduction.toFixed(1) : `${data.countable} or more`);
const filled = (template, values) => template.replace(/\{(\w+)\}/g, (_, name) => values[name]);

const printedOf = {
  thickness_m: (si) => printed("length", si),
  air_K: (si) => printed("temperature", si),
  relative_humidity: (si) => `${percent(si)} relative`,
  speed_m_s: (si) => printed("speed", si),
  time_s: clock,
};

// --- pictures ---------------------------------------------------------------------------------------------------------
const FRAME = { width: 340, height: 200, left: 44, right: 12, top: 10, bottom: 36 };

function ticks(low, high, most) {
  const rough = (high - low) / most, power = 10 ** Math.floor(Math.log10(rough));
  const step = power * [1, 2, 5, 10].find((factor) => factor * power >= rough);
  const found = [];
  for (let i = Math.ceil(low / step - 1e-9); i * step <= high + 1e-9 * step; i++) found.push(Number((i * step).toPrecision(6)));
  return found;
}

// lines: { of: [[x, y], ...], as: class }; marks: { at: [x, y], as: class, name, below: whether the name stands there }
function drawn(id, x, y, lines, marks, message) {
  const { width, height, left, right, top, bottom } = FRAME;
  const across = (value) => left + (width - left - right) * (value - x.low) / (x.high - x.low);
  const up = (value) => height - bottom - (height - top - bottom) * (Math.min(Math.max(value, y.low), y.high) - y.low) / (y.high - y.low);
  const at = ([h, v]) => `${across(h).toFixed(1)} ${up(v).toFixed(1)}`;
  const floor = height - bottom;
  let svg = `<path class="frame" d="M${left} ${top}V${floor}H${width - right}"/>`;
  for (const tick of ticks(x.low, x.high, 5)) {
    svg += `<path class="frame" d="M${across(tick).toFixed(1)} ${floor}v4"/><text x="${across(tick).toFixed(1)}" y="${floor + 16}" text-anchor="middle">${tick}</text>`;
  }
  for (const tick of ticks(y.low, y.high, 4)) {
    svg += `<path class="frame" d="M${left} ${up(tick).toFixed(1)}h-4"/><text x="${left - 7}" y="${(up(tick) + 4).toFixed(1)}" text-anchor="end">${tick}</text>`;
  }
  svg += `<text x="${(left + width - right) / 2}" y="${height - 4}" text-anchor="middle">${x.name}</text>`;
  for (const line of lines) svg += `<path class="${line.as}" d="M${line.of.map(at).join("L")}"/>`;
  for (const mark of marks) {
    const [h, v] = [across(mark.at[0]), up(mark.at[1])];
    const end = h > width - 90;
    svg += `<circle class="${mark.as}" cx="${h.toFixed(1)}" cy="${v.toFixed(1)}" r="4.5"/>`;
    svg += `<text x="${(end ? h - 8 : h + 8).toFixed(1)}" y="${(mark.below ? v + 17 : Math.max(v - 7, 12)).toFixed(1)}" text-anchor="${end ? "end" : "start"}">${mark.name}</text>`;
  }
  const picture = element(id);
  picture.innerHTML = svg;
  picture.setAttribute("aria-label", message);
}

// height of every node of the slice above its lower surface, as it has shrunk
function heights(course, profile) {
  const volume = (value) => interpolated(data.curve.moisture, data.curve.volume, value);
  let height = 0;
  return profile.map((value, node) => {
    if (node) height += course.settings[0] * (depth[node] - depth[node - 1]) * volume(0.5 * (value + profile[node - 1]));
    return height;
  });
}

const level = (x, value) => [[x.low, value], [x.high, value]];

function drawProfiles(course, now) {
  const unit = data.systems[state.units], at = smooth(heights(course, now.moisture).map((height) => shownAs("length", height)));
  const water = smooth(now.moisture), warmth = smooth(now.temperature);
  const x = { low: 0, high: shownAs("length", course.settings[0]), name: `height in the slice (${unit.length.symbol})` };
  const last = nodes - 1, middle = middleOf(now.moisture), core = middleOf(now.temperature);
  drawn("moisture", x, { low: 0, high: 1.2 * data.loadedMoisture }, [{ of: level(x, data.targetMoisture), as: "line target" },
    { of: at.map((height, i) => [height, water[i]]), as: "line water" }], [],
  `Moisture per dry solid: ${now.moisture[0].toFixed(2)} at the lower surface, ${middle.toFixed(2)} in the middle, ${now.moisture[last].toFixed(2)} at the upper surface.`);
  const air = course.settings[1], y = { low: shownAs("temperature", 273.15), high: shownAs("temperature", hottest) };
  drawn("warmth", x, y, [{ of: level(x, shownAs("temperature", air)), as: "line air" },
    { of: level(x, shownAs("temperature", course.wetBulb)), as: "line bulb" },
    { of: at.map((height, i) => [height, shownAs("temperature", warmth[i])]), as: "line meat" }], [],
  `Temperature: ${printed("temperature", now.temperature[0])} at the lower surface, ${printed("temperature", core)} in the middle, ${printed("temperature", now.temperature[last])} at the upper surface.`);
}

const hottest = Math.max(axes[1].nodes[axes[1].nodes.length - 1], ...temperature.low.map((low, look) => low + 255 * temperature.step[look])) + 2;
const weighed = (weights, profile) => sum(weights.map((weight, node) => weight * profile[node]));
const middleOf = (profile) => weighed(data.middle, profile);
const smooth = (profile) => data.between.map((weights) => weighed(weights, profile)); // what lies between nodes, too
const weightShare = (mean) => (1 + mean) / (1 + data.loadedMoisture);

function drawCourse(course, now) {
  const span = Math.max(1.4 * course.ready, now.time, 3600) / 3600, x = { low: 0, high: span, name: "hours in the dryer" };
  const looks = Array.from({ length: 61 }, (_, i) => momentOf({ ...course, around: [] }, 3600 * span * (i / 60) ** 2));
  const hours = (moment) => moment.time / 3600, ready = course.ready / 3600;
  const most = 100 * Math.max(1, ...looks.map((look) => weightShare(look.mean))); // cold meat in humid air gains dew at first
  drawn("weight", x, { low: 0, high: most }, [{ of: level(x, 100 * data.stopShare), as: "line target" },
    { of: looks.map((look) => [hours(look), 100 * weightShare(look.mean)]), as: "line water" },
    { of: [[ready, 0], [ready, most]], as: "line bulb" }], [{ at: [hours(now), 100 * weightShare(now.mean)], as: "now", name: "now" }],
  `Weight over time: ${percent(weightShare(now.mean))} of what was loaded after ${clock(now.time)}; ready after ${about(course.ready)}.`);
  const warm = (kelvin) => shownAs("temperature", kelvin), core = middleOf(now.temperature);
  drawn("heating", x, { low: warm(273.15), high: warm(hottest) }, [{ of: level(x, warm(course.settings[1])), as: "line air" },
    { of: level(x, warm(course.wetBulb)), as: "line bulb" },
    { of: looks.map((look) => [hours(look), warm(middleOf(look.temperature))]), as: "line meat" }], [{ at: [hours(now), warm(core)], as: "now", name: "now" }],
  `Middle of the meat over time: ${printed("temperature", core)} after ${clock(now.time)}, in air of ${printed("temperature", course.settings[1])} with a wet bulb of ${printed("temperature", course.wetBulb)}.`);
}

function drawAir(course) {
  const unit = data.systems[state.units].temperature.symbol, warm = (kelvin) => shownAs("temperature", kelvin), { kelvin } = data.saturation;
  const [, air, humidity] = course.settings, water = ratioOf(humidity * saturation(air)), wet = ratioOf(saturation(course.wetBulb));
  const top = Math.max(40, 1250 * wet), x = { low: warm(kelvin[0]), high: warm(kelvin[kelvin.length - 1]), name: `temperature (${unit})` };
  const curve = (share) => kelvin.map((t) => [warm(t), 1000 * ratioOf(share * saturation(t))]).filter(([, ratio]) => ratio <= top);
  const inside = [warm(air), 1000 * water], bulb = [warm(course.wetBulb), 1000 * wet], { room } = data;
  drawn("chart", x, { low: 0, high: top }, [...[0.1, 0.3, 1].map((share) => ({ of: curve(share), as: share === 1 ? "line full" : "line part" })),
    { of: [inside, bulb], as: "line bulb" }], [{ at: [warm(room.kelvin), 1000 * room.ratio], as: "now", name: "room" },
    { at: inside, as: "dot-air", name: "air", below: true }, { at: bulb, as: "dot-bulb", name: "wet bulb" }],
  `Psychrometric chart: air of ${printed("temperature", air)} and ${percent(humidity)} relative humidity holds ${(1000 * water).toFixed(0)} of water in 1000 of dry air, by weight; its wet bulb is ${printed("temperature", course.wetBulb)}.`);
}

// --- the answers ------------------------------------------------------------------------------------------------------
function tell(id, text) {
  if (element(id).textContent !== text) element(id).textContent = text;
}

function tellAnswers(course, now) {
  const { verdict } = now, [early, late] = data.window, weight = weightShare(now.mean), stop = timeDownTo(course, data.stopMoisture);
  const is = now.time >= course.ready;
  tell("ready", about(course.ready));
  tell("ready-more", filled(late === null ? words.windowOpen : words.window, { early: about(early * course.ready), late: late === null ? "" : about(late * course.ready) }));
  tell("stop", filled(words.stop, { share: percent(data.stopShare), weight: printed("weight", data.stopShare * data.loadedKg), loaded: printed("weight", data.loadedKg) }));
  tell("stop-more", Number.isFinite(stop) ? filled(words.stopTime, { time: about(stop) }) : words.stopNever);
  tell("now-head", filled(words.after, { time: clock(now.time) }));
  tell("now-value", `${printed("weight", weight * data.loadedKg)} (${percent(weight)})`);
  const activity = interpolated(data.curve.moisture, data.curve.activity, now.mean);
  tell("now-more", filled(is ? words.now : words.notReady, { activity: activity.toFixed(2), target: data.targetActivity.toFixed(2) }));
  tell("core", printed("temperature", middleOf(now.temperature)));
  tell("core-more", filled(words.bulb, { bulb: printed("temperature", course.wetBulb), surface: printed("temperature", Math.min(now.temperature[0], now.temperature[nodes - 1])) }));
  tell("verdict", words.verdicts[verdict.grade]);
  tell("verdict-more", filled(words.reduction, { organism: verdict.organism.name, lower: logs(verdict.lower), best: logs(verdict.best), target: verdict.organism.target }));
  element("safety").classList.toggle("grave", verdict.grade < data.grades.indexOf("met"));
  const cautions = [...(verdict.grown ? [words.grown] : []), ...(verdict.grade === data.grades.indexOf("met only if measured") ? [words.measure] : []),
    ...(is ? [] : [words.wet]), ...(verdict.grade >= data.grades.indexOf("met only if measured") ? words.cautionsMet : words.cautionsShort)[state.units]];
  const list = element("cautions");
  if (list.dataset.told !== cautions.join()) {
    list.dataset.told = cautions.join();
    list.replaceChildren(...cautions.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
  }
  const brief = filled(words.spoken, { ready: about(course.ready), time: clock(now.time), weight: percent(weight), core: element("core").textContent });
  tell("brief", `${brief} ${words.verdicts[verdict.grade]}.`);
  return `${brief} ${words.verdicts[verdict.grade]}: ${element("verdict-more").textContent} ${cautions.slice(0, 2).join(" ")}`;
}

let waiting = 0, next = 0;
const valueOf = ({ key, stops }) => stops[state.stops[key]];
const slid = (wanted) => data.sliders.find(({ key }) => key === wanted);

function courseNow() {
  const settings = axes.map((axis) => valueOf(slid(axis.key)));
  if (!state.course || state.course.settings.some((value, i) => value !== settings[i])) state.course = courseOf(settings);
  return state.course;
}

function show() {
  const course = courseNow(), now = momentOf(course, valueOf(slid("time_s")));
  for (const each of data.sliders) {
    const slider = element(each.key), text = printedOf[each.key](valueOf(each));
    slider.value = state.stops[each.key];
    slider.setAttribute("aria-valuetext", text);
    tell(`${each.key}-value`, text);
  }
  drawProfiles(course, now);
  drawCourse(course, now);
  drawAir(course);
  const spoken = tellAnswers(course, now);
  clearTimeout(waiting); // a screen reader is told once the sliders rest
  waiting = setTimeout(() => tell("spoken", spoken), 700);
  state.now = now;
}

const soon = () => { next = next || requestAnimationFrame(() => { next = 0; show(); }); };

function goToReady() {
  const { stops } = slid("time_s"), { ready } = courseNow(), at = stops.findIndex((time) => time >= ready);
  state.stops.time_s = at < 0 ? stops.length - 1 : at;
  show();
}

// --- time goes by -----------------------------------------------------------------------------------------------------
const STEPS = 48, TICK_MS = 150, STILL_STEPS = 6; // until it is ready; of who wants no motion, a step a press
let ticking = 0;

function later(share) {
  const { stops } = slid("time_s"), { ready } = courseNow(), wanted = stops[state.stops.time_s] + share * ready;
  const at = Math.max(stops.findIndex((time) => time >= wanted), state.stops.time_s + 1);
  state.stops.time_s = Math.min(at, stops.length - 1);
  show();
  return stops[state.stops.time_s] < 1.2 * ready && state.stops.time_s < stops.length - 1;
}

function stopTime() {
  clearInterval(ticking);
  ticking = 0;
  element("let-dry").setAttribute("aria-pressed", "false");
}

function letTimeGoBy() {
  if (ticking) return stopTime();
  const { stops } = slid("time_s"), still = matchMedia("(prefers-reduced-motion: reduce)").matches;
  if (stops[state.stops.time_s] >= 0.99 * courseNow().ready) state.stops.time_s = 0;
  if (still) return later(1 / STILL_STEPS);
  element("let-dry").setAttribute("aria-pressed", "true");
  ticking = setInterval(() => later(1 / STEPS) || stopTime(), TICK_MS);
}

function chooseUnits(system) {
  state.units = document.body.dataset.units = system;
  for (const each of Object.keys(data.systems)) element(each).setAttribute("aria-pressed", String(each === system));
}

for (const { key } of data.sliders) {
  element(key).addEventListener("input", (event) => {
    if (key === "time_s") stopTime();
    state.stops[key] = Number(event.target.value);
    soon();
  });
}
for (const system of Object.keys(data.systems)) element(system).addEventListener("click", () => { chooseUnits(system); show(); });
element("to-ready").addEventListener("click", () => { stopTime(); goToReady(); });
element("let-dry").addEventListener("click", letTimeGoBy);
element("again").addEventListener("click", () => { stopTime(); state.stops = { ...data.start }; goToReady(); });
document.body.classList.add("live");
chooseUnits(data.units);
goToReady();
performance.mark("drawn");
