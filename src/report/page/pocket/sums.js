"use strict";
// The pocket page's sums: an air is reckoned, and answers are looked up in the table that the program made. Nothing here decides a size,
// and nothing here knows of the page.

const pocket = (() => {
  const K0 = 273.15, MA = 28.96546e-3, MV = 18.01528e-3, GAS = 8.314472;
  // ICAO standard atmosphere: sea level, and the exponent of its pressure law.
  const SEA = 101325, RISE = 288.15 / 0.0065, LAW = 9.80665 / (287.05287 * 0.0065), DENSITY = SEA / (287.05287 * 288.15);
  // Dry and moist density of air, kg/m3 (CIPM-2007), from temperature in C, pressure in Pa and humidity 0 to 1.
  function air(t, p, humidity) {
    const k = t + K0;
    const saturated = Math.exp((1.2378847e-5 * k - 1.9121316e-2) * k + 33.93711047 - 6.3431645e3 / k);
    const x = humidity * (1.00062 + 3.14e-8 * p + 5.6e-7 * t * t) * saturated / p;
    const z = 1 - p / k * (1.58123e-6 + t * (-2.9331e-8 + t * 1.1043e-10) + (5.707e-6 - 2.051e-8 * t) * x
      + (1.9898e-4 - 2.376e-6 * t) * x * x) + (p / k) * (p / k) * (1.83e-11 - 0.765e-8 * x * x);
    const gas = p * MA / (z * GAS * k);
    return { t, p, dry: gas * (1 - x), moist: gas * (1 - x * (1 - MV / MA)) };
  }
  const STANDARD = air(15, SEA, 0).moist;
  const relative = (density) => 100 * density / STANDARD;
  const stationFromQnh = (qnh, elevation) =>
    SEA * Math.pow(1 - (RISE * (1 - Math.pow(qnh / SEA, 1 / LAW)) + elevation) / RISE, LAW);
  const densityAltitude = (density) => RISE * (1 - Math.pow(density / DENSITY, 1 / (LAW - 1)));
  // A half goes to the even number, as the program rounds.
  const fixed = (value, decimals) => (!decimals && Math.abs(value % 1) === 0.5 ? 2 * Math.round(value / 2) : value)
    .toFixed(decimals).replace(/^-(?=[0.]*$)/, "");
  const percent = (chance) => {
    const value = 100 * chance;
    // What was rounded to nothing in the table is no certainty.
    return value < 0.5 ? "<1" : value > 99.5 ? ">99" : fixed(value, 0);
  };
  const degrees = (t, imperial) => `${fixed(imperial ? t * 1.8 + 32 : t, 0)} ${imperial ? "F" : "C"}`;
  const inShort = (of, imperial) => `${fixed(relative(of.moist), 1)} % air, ${degrees(of.t, imperial)}`;
  const felt = (of, imperial) => {
    const height = densityAltitude(of.moist);
    return `Air ${fixed(relative(of.moist), 1)} % of standard, dry ${fixed(relative(of.dry), 1)} %, density altitude `
      + `${fixed(imperial ? height / 0.3048 : height, 0).replace(/\B(?=(\d{3})+$)/g, ",")} ${imperial ? "ft" : "m"}`;
  };
  // What a table says in an air: parts as [sort, words] and sizes as [size, lean, right, rich, what]; null outside the table.
  function wants(table, of, imperial) {
    let x = Math.log(of.dry);
    if (table.venturi) x -= Math.log(of.moist) / 2;
    if (table.temperature) x += Math.log(of.t + K0);
    if (table.pressure) x -= Math.log(of.p);
    if (!(x >= table.range[0] && x <= table.range[1])) return null;
    const runs = table.runs[table.thinner.filter((density) => of.dry < density).length];
    const run = runs.filter(([from]) => x >= from).pop() || runs[0];
    if (!run || !run[3].length) return null;
    const [from, places, rows, given, leaner] = run, said = places.map((at) => table.parts[at]);
    const text = ([at]) => table.texts[at][1], smooth = /[\ue001-\ue004]/g;
    // A knot is as long as what is looked up in it; each is given as it differs from the one before.
    const wide = 1 + rows.length + said.reduce((sum, part) => sum + (text(part).match(smooth) || []).length, 0);
    const knots = [];
    for (let at = 0; at < given.length; at += wide) knots.push(given.slice(at, at + wide).map((value, one) => value + (at ? knots[knots.length - 1][one] : 0)));
    const felt = (x - from) * 1e9, after = knots.findIndex((knot) => knot[0] >= felt);
    const high = knots.at(after), low = knots[(after < 0 ? knots.length : after) - 1] || high;
    const along = high[0] > low[0] ? Math.max(0, Math.min(1, (felt - low[0]) / (high[0] - low[0]))) : 0;
    const numbers = low.slice(1).map((value, at) => value + along * (high[at + 1] - value));
    const sizes = [];
    for (let at = 0; at < rows.length; at += 2) {
      const lean = numbers[at] / 1e4, rich = numbers[at + 1] / 1e4, what = table.whats[rows[at + 1]];
      sizes.push([table.sizes[rows[at]], percent(lean), percent(Math.max(0, 1 - lean - rich)), percent(rich), what]);
    }
    let next = rows.length;
    const parts = said.map((part) => {
      let value = 0;
      const words = text(part).replace(smooth, (sign) => { const decimals = sign.charCodeAt(0) - 0xe001; return fixed(numbers[next++] / 10 ** decimals, decimals); });
      return [table.texts[part[0]][0], words.replace(/\ue00f/g, () => part[1][value++]).replace("\ue000", inShort(of, imperial))];
    });
    return { parts, sizes, leaner: Boolean(leaner) };
  }
  // A number with its unit, as it was typed or as the field has it; null where it is none.
  function typed(text, unit) {
    const match = /^\s*([-+]?\d+(?:[.,]\d+)?)\s*([a-z%°]*)\s*$/i.exec(text);
    return match && { value: Number(match[1].replace(",", ".")), unit: match[2].replace("°", "") || unit, text: match[1].replace(",", ".") };
  }
  const SCALES = { c: (v) => v, f: (v) => (v - 32) / 1.8, hpa: (v) => v * 100, mbar: (v) => v * 100, inhg: (v) => v * 3386.389,
    m: (v) => v, ft: (v) => v * 0.3048, "%": (v) => v / 100 };
  const NAMES = { c: "C", f: "F", hpa: "hPa", mbar: "mbar", inhg: "inHg", m: "m", ft: "ft", "%": "%" };
  // The air of a form: what it is, and as it is written down; `wrong` says what is not right, `missing` what is to be filled in.
  function reading(form, imperial) {
    const limits = { temp: ["The temperature", -60, 60, "C", 1], pressure: ["The pressure", ...(form.kind === "qnh" ? [850, 1090] : [400, 1100]), "hPa", 100],
      elevation: ["The elevation", -500, 5000, "m", 1], humidity: ["The relative humidity", 0, 100, "%", 0.01] };
    const units = { temp: imperial ? "F" : "C", pressure: imperial ? "inHg" : "hPa", elevation: imperial ? "ft" : "m", humidity: "%" };
    const kinds = { temp: ["c", "f"], pressure: ["hpa", "mbar", "inhg"], elevation: ["m", "ft"], humidity: ["%"] };
    const si = {}, said = {};
    const fields = form.kind === "qnh" ? ["temp", "pressure", "elevation", "humidity"] : ["temp", "pressure", "humidity"];
    for (const field of fields) {
      if (!form[field].trim())
        return { missing: fields.some((other) => other !== "elevation" && !form[other].trim()) ? "Fill in temperature, pressure and humidity."
          : "Fill in the elevation of the track: an altimeter setting says nothing without it." };
      const [name, low, high, unit, each] = limits[field], one = typed(form[field], units[field]);
      const kind = one && one.unit.toLowerCase();
      if (!one || !kinds[field].includes(kind)) return { wrong: `${name}: "${form[field]}" is no number with a unit like ${units[field]}.` };
      si[field] = SCALES[kind](one.value);
      said[field] = `${one.text} ${NAMES[kind]}`;
      if (si[field] < low * each || si[field] > high * each) return { wrong: `${name} is ${said[field]}; allowed is ${low} to ${high} ${unit}.` };
      if (field === "humidity" && one.value > 0 && one.value <= 1) return { wrong: "The relative humidity is wanted in percent." };
    }
    const pa = form.kind === "qnh" ? stationFromQnh(si.pressure, si.elevation) : si.pressure;
    if (pa < 40000 || pa > 110000) return { wrong: "No track has such a pressure: is the elevation right?" };
    const pressure = form.kind === "qnh" ? { qnh: said.pressure, elevation: said.elevation } : { baro: said.pressure };
    const entry = { temp: said.temp, ...pressure, humidity: said.humidity };
    const rare = form.kind === "qnh" && (si.pressure < 95000 || si.pressure > 105000);
    // The numbers that are asked about: pressure in hPa, temperature in C, humidity in percent, each as it is said.
    const there = `${imperial ? fixed(pa / 3386.389, 2) : fixed(pa / 100, 0)} ${units.pressure}`;
    const shown = form.kind === "qnh" ? `QNH ${said.pressure} at ${said.elevation} makes ${there} at the track: ${there}` : said.pressure;
    const numbers = [[pa / 100, shown], [si.temp, degrees(si.temp, imperial)], [si.humidity * 100, said.humidity]];
    return { air: air(si.temp, pa, si.humidity), entry, numbers, remark: rare ? `An altimeter setting of ${fixed(si.pressure / 100, 1)} hPa is rare. If a barometer at the track shows it, give it as the barometer's pressure.` : "" };
  }
  // The verdicts of all cylinders and of each, and the words of the outing.
  const verdicts = (outing) => [outing, ...Object.values(outing.cylinder || {})].map((one) => one.verdict || {});
  const wordsOf = (outing) => [outing.notes, outing.plug, ...Object.values(outing.cylinder || {}).map((one) => one.plug)].filter(Boolean).join(" ").toLowerCase();
  // What a noted outing calls for, in words; null where nothing was lean.
  function lean(outing, words) {
    const text = wordsOf(outing);
    const found = text.split(/[^\p{L}]+/u), given = verdicts(outing), judged = given.flatMap((one) => Object.values(one));
    const fulls = given.map((one) => one.full), full = ["lean", "slightly-lean"].find((word) => fulls.includes(word)) || fulls.find(Boolean);
    const alone = found.find((word) => words.alone.some((begins) => word.startsWith(begins)));
    const pair = words.together.find(([one, others]) => found.includes(one) && others.some((other) => found.includes(other)));
    if (alone || pair) return words.said.replace("\ue000", alone || pair[0]);
    if (looks(found, words) && !full) return words.unsaid;
    if (judged.includes("lean")) return full === "lean" || full === "slightly-lean" ? words.lean : words.below;
    return full === "slightly-lean" ? words.slightly : judged.includes("slightly-lean") ? words.slightly_below : null;
  }
  const looks = (found, words) => found.some((word) => words.looks.some((begins) => word.startsWith(begins)));
  // What is to be known of a noted outing that was judged right at full throttle and sounds lean; empty where it does not.
  function sounds(outing, words) {
    const found = wordsOf(outing).split(/[^\p{L}]+/u);
    return verdicts(outing).some((one) => one.full) && !lean(outing, words) && looks(found, words) ? words.sounds : "";
  }
  // What is asked of a reading: of its pressure, which another height makes as well, and of the rest.
  function asked(read, tables) {
    const all = read.numbers.map(([value, said], at) => {
      const [, question, instead] = tables[at].filter(([from]) => value >= from).pop() || [0, "", ""];
      return question && `${said} ${question} ${instead}`.trim();
    });
    return { height: all[0], rest: all.slice(1).filter(Boolean) };
  }
  // What is wrong with a lap as it was typed; empty where nothing is.
  function lap(text) {
    const word = text.trim().split(/\s+/)[0].replace(/s$/, ""), parts = word.split(":");
    const time = parts.length <= 3 && parts.every((part) => /^\d+(\.\d+)?$/.test(part)) && parts.slice(1).every((part) => Number(part) < 60);
    if (!time || !parts.some((part) => Number(part) > 0)) return `"${text}" is no time: write the lap like 1:23.4.`;
    const digits = /^\d{3,}$/.test(text.trim()) ? Number(text) : 0;
    return digits && digits % 100 < 60 ? `The lap ${digits} can be ${digits} s or ${Math.floor(digits / 100)}:${String(digits % 100).padStart(2, "0")}: write ${digits}s or with its colon.` : "";
  }
  return { air, asked, lap, reading, wants, felt, inShort, lean, sounds, stationFromQnh };
})();
