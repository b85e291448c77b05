"use strict";
// The pocket page: an air is reckoned, answers are looked up in the table that the program made, and what is noted is kept to be sent.
// Nothing here decides a size. What stands in the page is put into it as text, never as markup.

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
    return value > 0 && value < 0.5 ? "<1" : value > 99.5 && value < 100 ? ">99" : fixed(value, 0);
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
    const run = runs.filter((one) => x >= one.from).pop() || runs[0];
    if (!run) return null;
    const after = run.knots.findIndex((knot) => knot[0] >= x);
    const high = run.knots.at(after), low = run.knots[(after < 0 ? run.knots.length : after) - 1] || high;
    const along = high[0] > low[0] ? Math.max(0, Math.min(1, (x - low[0]) / (high[0] - low[0]))) : 0;
    const numbers = low.slice(1).map((value, at) => value + along * (high[at + 1] - value));
    const sizes = run.sizes.map((at, row) => [table.sizes[at][0],
      ...numbers.slice(3 * row, 3 * row + 3).map(percent), table.sizes[at][1]]);
    let next = 3 * run.sizes.length, decimal = 0;
    const parts = run.parts.map((at) => [table.parts[at][0], table.parts[at][1].replace(/\ue001/g,
      () => fixed(numbers[next++], run.decimals[decimal++])).replace("\ue000", inShort(of, imperial))]);
    return { parts, sizes };
  }
  // A number with its unit, as it was typed or as the field has it; null where it is none.
  function typed(text, unit) {
    const match = /^\s*([-+]?\d+(?:[.,]\d+)?)\s*([a-z%°]*)\s*$/i.exec(text);
    return match && { value: Number(match[1].replace(",", ".")), unit: match[2].replace("°", "") || unit, text: match[1].replace(",", ".") };
  }
  const SCALES = { c: (v) => v, f: (v) => (v - 32) / 1.8, hpa: (v) => v * 100, mbar: (v) => v * 100, inhg: (v) => v * 3386.389,
    m: (v) => v, ft: (v) => v * 0.3048, "%": (v) => v / 100 };
  const NAMES = { c: "C", f: "F", hpa: "hPa", mbar: "mbar", inhg: "inHg", m: "m", ft: "ft", "%": "%" };
  // The air of a form: what it is, and as it is written down; `wrong` says what is not right, `missing` that something is not filled in.
  function reading(form, imperial) {
    const limits = { temp: ["The temperature", -60, 60, "C", 1], pressure: ["The pressure", ...(form.kind === "qnh" ? [850, 1090] : [400, 1100]), "hPa", 100],
      elevation: ["The elevation", -500, 5000, "m", 1], humidity: ["The relative humidity", 0, 100, "%", 0.01] };
    const units = { temp: imperial ? "F" : "C", pressure: imperial ? "inHg" : "hPa", elevation: imperial ? "ft" : "m", humidity: "%" };
    const kinds = { temp: ["c", "f"], pressure: ["hpa", "mbar", "inhg"], elevation: ["m", "ft"], humidity: ["%"] };
    const si = {}, said = {};
    const fields = form.kind === "qnh" ? ["temp", "pressure", "elevation", "humidity"] : ["temp", "pressure", "humidity"];
    for (const field of fields) {
      if (!form[field].trim()) return { missing: true };
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
    const shown = form.kind === "qnh" ? `${imperial ? fixed(pa / 3386.389, 2) : fixed(pa / 100, 0)} ${units.pressure}` : said.pressure;
    const numbers = [[pa / 100, shown], [si.temp, degrees(si.temp, imperial)], [si.humidity * 100, said.humidity]];
    return { air: air(si.temp, pa, si.humidity), entry, numbers, remark: rare ? `An altimeter setting of ${fixed(si.pressure / 100, 1)} hPa is rare. If a barometer at the track shows it, give it as the barometer's pressure.` : "" };
  }
  // What a noted outing calls for, in words; null where nothing was lean.
  function lean(outing, words) {
    const text = [outing.notes, outing.plug].filter(Boolean).join(" ").toLowerCase();
    const found = text.split(/[^\p{L}]+/u), judged = Object.values(outing.verdict || {}), full = (outing.verdict || {}).full;
    const alone = found.find((word) => words.alone.some((begins) => word.startsWith(begins)));
    const pair = words.together.find(([one, others]) => found.includes(one) && others.some((other) => found.includes(other)));
    if (alone || pair) return words.said.replace("\ue000", alone || pair[0]);
    if (judged.includes("lean")) return full === "lean" || full === "slightly-lean" ? words.lean : words.below;
    return full === "slightly-lean" ? words.slightly : judged.includes("slightly-lean") ? words.below.replace("Lean", "Slightly lean") : null;
  }
  // What is asked of a reading: of its pressure, which another height makes as well, and of the rest.
  function asked(read, tables) {
    const all = read.numbers.map(([value, said], at) => {
      const [, question, instead] = tables[at].filter(([from]) => value >= from).pop() || [0, "", ""];
      return question && `${said} ${question} ${instead}`.trim();
    });
    return { height: all[0], rest: all.slice(1).filter(Boolean) };
  }
  return { air, asked, reading, wants, felt, inShort, lean, stationFromQnh };
})();

if (typeof document !== "undefined") (() => {
  const $ = (id) => document.getElementById(id);
  const data = JSON.parse($("data").textContent);
  const made = data.made_s * 1000, DAY = 86400e3, SERVES = 3 * 3600e3, MOST = 1000;
  const KEPT = `reedbook-pocket-${data.garage}`, NONE = "This browser keeps nothing when the page is closed: send what is noted before that.",
    FULL = "There is no room in this browser's storage: send what is noted before the page is closed, and take out what was sent.";
  const form = $("reading"), outing = $("outing");
  let bike = data.bikes[0], notes = [], judged = {}, readAt = 0, sure = "", noRoom = "";
  const el = (name, text, kind) => Object.assign(document.createElement(name), { textContent: text || "", className: kind || "" });
  const put = (into, ...children) => into.replaceChildren(...children);
  const within = (name, ...children) => { const one = document.createElement(name); one.append(...children); return one; };
  const pressed = (one, is) => { one.setAttribute("aria-pressed", is); return one; };
  const button = (text, act) => Object.assign(el("button", text), { type: "button", onclick: act });
  // Words with what is to be typed between backticks.
  const worded = (name, text, kind) =>
    Object.assign(within(name, ...text.split("`").map((piece, at) => at % 2 ? el("code", piece) : piece)), { className: kind });
  const two = (number) => String(number).padStart(2, "0");
  function now() {
    const d = new Date(), offset = -d.getTimezoneOffset(), o = Math.abs(offset);
    return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}T${two(d.getHours())}:${two(d.getMinutes())}:${two(d.getSeconds())}${offset < 0 ? "-" : "+"}${two(Math.floor(o / 60))}:${two(o % 60)}`;
  }
  const identity = () => [...crypto.getRandomValues(new Uint8Array(6))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  function load() {
    try { notes = JSON.parse(localStorage.getItem(KEPT) || "[]"); } catch (error) { noRoom = NONE; }
  }
  function keep(change) {
    // Another page of the garage may have noted something in between.
    const here = notes;
    load();
    if (noRoom) notes = here.concat(notes.filter((note) => !here.some((one) => one.id === note.id)));
    notes = change(notes);
    try { localStorage.setItem(KEPT, JSON.stringify(notes)); noRoom = ""; } catch (error) { noRoom = /quota/i.test(error.name) ? FULL : NONE; }
    render();
  }
  function note(more) {
    const one = { id: identity(), bike: bike.bike, ...(bike.setup_id ? { setup: bike.setup_id } : {}), date: now(), ...more };
    if (notes.length < MOST) keep((all) => all.concat([one]));
    return notes.some((kept) => kept.id === one.id);
  }
  // What the program cannot have known when it made this page.
  const unknown = () => notes.filter((one) => one.bike === bike.bike && !(one.sent && Date.parse(one.date) < made));
  const jobIs = (job, one) => one.tick && one.bike === bike.bike && (one.tick.part || one.tick.field) === (job.part || job.field);
  const isDone = (job) => notes.filter((one) => jobIs(job, one) && Date.parse(one.date) >= made).reduce((_, one) => one.tick.done, Boolean(job.done));
  function values() {
    const of = Object.fromEntries(new FormData(form)), place = data.places.find((one) => one.title === of.place);
    if (of.kind === "qnh" && !of.elevation.trim() && place && place.elevation_m !== null)
      of.elevation = data.imperial ? `${(place.elevation_m / 0.3048).toFixed(0)} ft` : `${place.elevation_m} m`;
    return { ...of, place: of.place === "+" ? of.other.trim() : of.place };
  }
  const aged = () => readAt && Date.now() - readAt > SERVES;
  function answer() {
    const of = pocket.reading(values(), data.imperial), parts = [];
    const say = (sort, words) => parts.push(worded(sort === "block" ? "pre" : "p", words, sort));
    Object.assign($("felt"), { className: of.wrong ? "stop" : "",
      textContent: of.air ? pocket.felt(of.air, data.imperial) : of.wrong || "Fill in temperature, pressure and humidity." });
    const typed = values(), key = JSON.stringify([typed, bike.bike]);
    const right = () => button("It is right", () => { sure = key; render(); });
    const there = data.places.find((one) => one.title === typed.place);
    const asked = of.air ? pocket.asked(of, there ? there.asked : typed.place ? data.elsewhere : bike.asked) : { rest: [] };
    const since = unknown(), lean = since.filter((one) => one.outing).map((one) => pocket.lean(one.outing, data.lean)).filter(Boolean);
    if (lean.length) {
      say("stop", lean[lean.length - 1]);
      say("know", "No sizes stand here: this page was made before that run. Nothing leaner than ran; take the note home and ask the laptop.");
    } else if (of.air && aged()) say("know", "This air was read three hours ago: read it anew.");
    else if (asked.rest.length && sure !== key) {
      asked.rest.forEach((question) => say("know", question));
      parts.push(right());
    } else if (of.air) {
      if (asked.height && sure !== key) say("stop", asked.height), parts.push(right());
      if (of.remark) say("know", of.remark);
      if (since.some((one) => one.outing)) say("know", "A run was logged here that this answer does not know.");
      if (since.some((one) => one.tick)) say("know", "Jobs were ticked here: what is fitted counts from before they were.");
      for (const wants of bike.wants) {
        if (wants.cylinder) parts.push(el("h3", `Cylinder ${wants.cylinder}`));
        wants.refused.forEach(([sort, words]) => say(sort, words));
        const found = wants.table && pocket.wants(wants.table, of.air, data.imperial);
        if (wants.table && !found) say("know", "This air is beyond what the page was made for: ask the laptop, `reedbook rejet`.");
        if (found) found.parts.forEach(([sort, words]) => sort === "chances" ? parts.push(chances(wants.table, found.sizes)) : say(sort, words));
      }
    }
    put($("answer"), ...parts);
  }
  function chances(table, sizes) {
    const row = (cells, at) => within("tr", ...cells.map((cell) => el(at ? "td" : "th", cell)));
    const rows = [[table.sized, "lean", "right", "rich", "in 100, full throttle"], ...sizes].map(row);
    return Object.assign(within("table", ...rows), { className: "chances" });
  }
  function words(one) {
    if (one.tick) return `${one.tick.done ? "done" : "not done"}: ${one.tick.what}`;
    const of = one.outing, verdict = data.zones.filter(([zone]) => (of.verdict || {})[zone]).reverse().map(([zone, name]) => {
      const [, sign, said] = data.verdicts.find(([word]) => word === of.verdict[zone]);
      return `${name} ${sign} ${said}`;
    });
    return [of.place, of.session, verdict.join(", "), of.air && Object.values(of.air).join(", "), of.lap, of.plug && `plug ${of.plug}`, of.notes && `"${of.notes}"`].filter(Boolean).join(" | ");
  }
  function render() {
    const age = Date.now() - made;
    const said = age > DAY ? `This page was made more than a day ago${age > 2 * DAY ? `, ${Math.floor(age / DAY)} days` : ""}: air, jobs and setups may have moved on. Make a new one.`
      : age < -60e3 ? "The clock of this phone stands before the moment this page was made: set it, or what is noted is dated wrongly." : "";
    Object.assign($("old"), { hidden: !said, textContent: said });
    document.querySelectorAll("#bikes button").forEach((one) => pressed(one, one.value === bike.bike));
    document.querySelectorAll(".bike").forEach((one) => { one.hidden = one.dataset.bike !== bike.bike; });
    document.querySelectorAll(`.bike:not([hidden]) .jobs input`).forEach((box) => {
      const job = bike.jobs.find((one) => one.number === Number(box.value));
      Object.assign(box, { disabled: false, checked: isDone(job), onchange: () => tick(job, box.checked) });
    });
    const { place: { value: chosen }, kind, elevation } = form.elements, place = data.places.find((one) => one.title === chosen);
    $("other").hidden = chosen !== "+";
    $("height").hidden = kind.value !== "qnh";
    elevation.placeholder = place && place.elevation_m !== null ? `as written down: ${place.elevation_m} m` : "";
    put($("zones"), ...[...data.zones].reverse().map(([zone, name]) => {
      const choose = (word) => { if (judged[zone] === word) delete judged[zone]; else judged[zone] = word; render(); };
      return within("fieldset", el("legend", `${name} throttle`), ...data.verdicts.map(([word, sign, text]) => {
        const one = button("", () => choose(word));
        one.append(el("b", sign), " ", text);
        return pressed(one, judged[zone] === word);
      }));
    }));
    put($("plugs"), ...data.plug.map((word) => button(word, () => { outing.elements.plug.value = word; })));
    const of = pocket.reading(values(), data.imperial);
    put($("goes"), `Goes with it: ${bike.bike}${bike.setup ? `, setup ${bike.setup}` : ""}, the time${values().place ? `, ${values().place}` : ""}${of.air && !aged() ? `, ${pocket.inShort(of.air, data.imperial)}` : "; no air"}.`);
    const open = notes.filter((one) => !one.sent).length;
    Object.assign($("kept"), { textContent: noRoom || `${notes.length} noted, ${open} not sent yet.`, className: noRoom ? "stop" : "" });
    const takeBack = (one) => button("take back", () => keep((all) => all.filter((other) => other.id !== one.id)));
    put($("list"), ...[...notes].reverse().map((one) =>
      within("li", `${one.date.slice(0, 16).replace("T", " ")} ${one.bike}: ${words(one)} `, one.sent ? "(sent)" : takeBack(one))));
    ["share", "save", "copy", "clear"].forEach((id) => { $(id).disabled = !notes.length; });
    answer();
  }
  function tick(job, done) {
    const last = notes.filter((one) => jobIs(job, one) && !one.sent).pop();
    if (last) return keep((all) => all.filter((one) => one.id !== last.id));
    note({ tick: { number: job.number, ...(job.field ? { field: job.field } : {}), ...(job.part ? { part: job.part } : {}), what: job.what, done } });
  }
  outing.onsubmit = (event) => {
    event.preventDefault();
    const said = Object.fromEntries([...new FormData(outing)].map(([name, text]) => [name, text.trim()]).filter(([, text]) => text));
    if (!Object.keys(judged).length && !Object.keys(said).length) return put($("logged"), "Nothing is said of the outing.");
    const { minutes: ran, ...rest } = said, minutes = ran && Number(ran.replace(",", "."));
    if (ran && !(minutes > 0 && minutes < 1440)) return put($("logged"), "The running time is no number of minutes.");
    const read = pocket.reading(values(), data.imperial), of = { ...(values().place ? { place: values().place } : {}), ...rest };
    if (minutes) of.hours = `${minutes} min`;
    if (read.air && !aged()) of.air = read.entry;
    if (Object.keys(judged).length) of.verdict = judged;
    if (!note({ outing: of })) return put($("logged"), `${MOST} notes are kept here: send them and take them out first.`);
    judged = {};
    outing.reset();
    render();
    const lean = pocket.lean(of, data.lean);
    put($("logged"), `Logged for ${bike.bike}: ${words({ outing: of })}`, ...(lean ? [el("p", lean, "stop")] : []));
  };
  // The file that is sent, a note a line.
  function file() {
    const head = JSON.stringify({ phone_notes: data.version, garage: data.garage, made: data.made, written: now() });
    const lines = notes.map(({ sent, ...one }) => JSON.stringify(one));
    return `${head.slice(0, -1)},"notes":[\n${lines.join(",\n")}\n]}\n`;
  }
  const name = () => `notes-${now().slice(0, 16).replace(/[T:]/g, "-")}.json`;
  const sent = (how) => { const ids = new Set(notes.map((one) => one.id)); keep((all) => all.map((one) => ids.has(one.id) ? { ...one, sent: true } : one)); put($("sent"), `${how} At the laptop: reedbook outing import FILE.`); };
  const files = () => [new File([file()], name(), { type: "application/json" }), new File([file()], `${name()}.txt`, { type: "text/plain" })];
  const sendable = () => navigator.canShare && files().find((one) => navigator.canShare({ files: [one] }));
  $("share").hidden = !sendable();
  $("share").onclick = () => navigator.share({ files: [sendable()] }).then(() => sent("Sent."), () => put($("sent"), "Not sent."));
  $("save").onclick = () => {
    Object.assign(el("a"), { href: URL.createObjectURL(files()[0]), download: name() }).click();
    sent("Saved.");
  };
  $("copy").onclick = () => {
    const plain = Object.assign($("plain"), { value: file(), hidden: false });
    plain.select();
    const copied = navigator.clipboard ? navigator.clipboard.writeText(plain.value) : Promise.reject();
    copied.then(() => sent("Copied: paste it into a message or a file."), () => put($("sent"), "Copy the text below by hand."));
  };
  $("clear").onclick = () => { if (confirm("Take out what was sent? What never came home is lost.")) keep((all) => all.filter((one) => !one.sent)); };
  form.onsubmit = (event) => event.preventDefault();
  form.oninput = () => { readAt = Date.now(); render(); };
  document.querySelectorAll("#bikes button").forEach((one) => { one.onclick = () => { bike = data.bikes.find((other) => other.bike === one.value); judged = {}; put($("logged")); render(); }; });
  document.querySelectorAll(".scripted").forEach((one) => { one.hidden = false; });
  document.onvisibilitychange = render;
  setInterval(render, 60e3);
  // A browser that fills the form in again does not say when that air was read.
  form.reset();
  load();
  render();
})();
