// The pocket page itself: what is typed is asked about or answered, what is noted is kept to be sent. What stands in the page is put into
// it as text, never as markup.
if (typeof document !== "undefined") (() => {
  const $ = (id) => document.getElementById(id);
  const data = JSON.parse($("data").textContent);
  const told = (all) => all.map((one) => one.map(([from, question, instead]) => [from, data.words[question], data.words[instead]]));
  [data, ...data.places, ...data.bikes].forEach((one) => { if (one === data) one.elsewhere = told(one.elsewhere); else one.asked = told(one.asked); });
  const made = data.made_s * 1000, DAY = 86400e3, SERVES = 3 * 3600e3, MOST = 1000, MOST_DOTS = 1000;
  const KEPT = `reedbook-pocket-${data.garage}`, NONE = "This browser keeps nothing when the page is closed: send what is noted before that.",
    FULL = "There is no room in this browser's storage: send what is noted before the page is closed, and press \"Clear what was saved or sent\" once it is home.";
  const form = $("reading"), outing = $("outing");
  let bike = data.bikes[0], notes = [], judged = {}, who = "", readAt = 0, sure = "", noRoom = "";
  // A text in which no number loses its unit.
  const UNIT = /((?:[<>±+-]*\d[\d.,:/]*) (?:%(?: air)?|C|F|hPa|inHg|mm|m|ft|h|min|turns?|in 100)(?![\p{L}\d])[,.;:)]*)/u;
  const whole = (text) => text.split(UNIT).map((piece, at) => at % 2 ? Object.assign(document.createElement("span"), { textContent: piece, className: "word" }) : piece);
  const el = (name, text, kind) => { const one = Object.assign(document.createElement(name), { className: kind || "" }); one.append(...whole(text || "")); return one; };
  const put = (into, ...children) => into.replaceChildren(...children);
  const within = (name, ...children) => { const one = document.createElement(name); one.append(...children); return one; };
  const pressed = (one, is) => { one.setAttribute("aria-pressed", is); return one; };
  const button = (text, act) => Object.assign(el("button", text), { type: "button", onclick: act });
  // Words with what is to be typed between backticks.
  const worded = (name, text, kind) =>
    Object.assign(within(name, ...text.split("`").flatMap((piece, at) => at % 2 ? [el("code", piece)] : whole(named(piece)))), { className: kind });
  // Options of a command line are none of this page.
  const named = (text) => text.replace(/ \((?:--|-v)[^)]*\)/g, "").replace(/--/g, "");
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
  // What was ticked here, or taken back, and moves what the engine wants: the answers are for the bike as it stood before.
  const moved = () => bike.jobs.some((job) => job.moves && isDone(job) !== Boolean(job.done));
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
    // What is moved under the finger can be moved with the keys, too.
    const held = (sort) => sort === "hands" && parts.some((one) => one.className === "stop") ? "hands then" : sort;
    const say = (sort, words) => parts.push(sort === "block" ? Object.assign(worded("pre", words, sort), { tabIndex: 0 }) : worded("p", words, held(sort)));
    $("felt").className = of.wrong ? "stop" : "";
    put($("felt"), ...whole(of.air ? pocket.felt(of.air, data.imperial) : of.wrong || of.missing));
    const typed = values(), key = JSON.stringify([typed, bike.bike]);
    const right = () => button("It is right", () => { sure = key; render(); });
    const there = data.places.find((one) => one.title === typed.place);
    const asked = of.air ? pocket.asked(of, there ? there.asked : typed.place ? data.elsewhere : bike.asked) : { rest: [] };
    const since = unknown(), lean = since.filter((one) => one.outing).map((one) => pocket.lean(one.outing, data.lean)).filter(Boolean);
    if (lean.length) {
      say("stop", lean[lean.length - 1]);
      say("know", "No sizes stand here: this page was made before that run. Nothing leaner than ran; take the note home and ask the laptop.");
    } else if (moved()) {
      say("know", "Jobs were ticked here, and the page was made before: no sizes stand here. Take the notes home and ask the laptop, or make a new page.");
    } else if (of.air && aged()) say("know", "This air was read three hours ago: read it anew.");
    else if (sure !== key && (asked.rest.length || asked.height && leaner(of.air))) {
      [asked.height, ...asked.rest].filter(Boolean).forEach((question) => say("know", question));
      say("say", "No size stands here before that is answered: it would be leaner, and this may be no air of the day.");
      parts.push(right());
    } else if (of.air) {
      if (asked.height && sure !== key) say("stop", asked.height), parts.push(right());
      if (of.remark) say("know", of.remark);
      if (since.some((one) => one.outing)) say("know", "A run was logged here that this answer does not know.");
      for (const wants of bike.wants) {
        if (wants.cylinder) parts.push(el("h3", `Cylinder ${wants.cylinder}`));
        wants.refused.forEach(([sort, words]) => say(sort, words));
        const found = wants.table && pocket.wants(wants.table, of.air, data.imperial);
        if (wants.table && !found) say("know", "This air is beyond what the page was made for: ask the laptop.");
        if (found) found.parts.forEach(([sort, words]) => sort === "chances" ? parts.push(chances(wants.table, found.sizes)) : say(sort, words));
      }
    }
    put($("answer"), ...parts);
  }
  // Another height makes an odd pressure as well as a slip does; but nothing leaner stands here for an air that may be none.
  const leaner = (air) => bike.wants.some((wants) => { const found = wants.table && pocket.wants(wants.table, air, data.imperial); return found && found.leaner; });
  function chances(table, sizes) {
    const kind = (what) => /^fit|stays/.test(what) ? "marked" : /over the limit/.test(what) ? "over" : "";
    const row = (cells, at) => Object.assign(within("tr", ...cells.map((cell) => el(at ? "td" : "th", cell))), { className: at ? kind(cells[4]) : "" });
    const rows = [[table.sized, "lean", "right", "rich", "in 100, full throttle"], ...sizes].map(row);
    return Object.assign(within("table", ...rows), { className: "chances" });
  }
  function words(one) {
    if (one.tick) return `${one.tick.done ? "done" : "not done"}: ${one.tick.what}`;
    const of = one.outing, verdict = (given) => data.zones.filter(([zone]) => (given || {})[zone]).reverse().map(([zone, name]) => {
      const [, sign, said] = data.verdicts.find(([word]) => word === given[zone]);
      return `${name} ${sign} ${said}`;
    }).join(", ");
    const own = Object.entries(of.cylinder || {}).map(([name, own]) => `${name}: ${[verdict(own.verdict), own.plug && `plug ${own.plug}`].filter(Boolean).join(", ")}`);
    return [of.place, of.session, verdict(of.verdict), ...own, of.air && Object.values(of.air).join(", "), of.lap, of.plug && `plug ${of.plug}`, of.notes && `"${of.notes}"`].filter(Boolean).join(" | ");
  }
  function render() {
    const age = Date.now() - made;
    const said = age > DAY ? `This page was made more than a day ago${age > 2 * DAY ? `, ${Math.floor(age / DAY)} days` : ""}, or the clock of this phone stands ahead: air, jobs and setups may have moved on. Make a new one, or set the clock.`
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
    $("to-jobs").hash = `${bike.jobs.length ? "jobs" : "bike"}-${bike.bike}`;
    const several = bike.cylinders.length ? [["", "all cylinders"], ...bike.cylinders.map((name) => [name, `only ${name}`])] : [];
    put($("who"), ...several.map(([name, text]) => pressed(button(text, () => { turnTo(name); render(); }), who === name)));
    const of_who = seen().verdict;
    put($("zones"), ...[...data.zones].reverse().map(([zone, name]) => {
      const choose = (word) => { if (of_who[zone] === word) delete of_who[zone]; else of_who[zone] = word; render(); };
      return within("fieldset", el("legend", `${name} throttle${who && `, ${who}`}`), ...data.verdicts.map(([word, sign, text]) => {
        const one = button("", () => choose(word));
        one.append(el("b", sign), " ", text);
        return pressed(one, of_who[zone] === word);
      }));
    }));
    put($("plugs"), ...data.plug.map((word) => button(word, () => { outing.elements.plug.value = word; })));
    const of = pocket.reading(values(), data.imperial);
    put($("goes"), ...whole(`Goes with it: ${bike.bike}${bike.setup ? `, setup ${bike.setup}` : ""}, the time${values().place ? `, ${values().place}` : ""}${of.air && !aged() ? `, ${pocket.inShort(of.air, data.imperial)}` : "; no air"}.`));
    const open = notes.filter((one) => !one.sent).length;
    Object.assign($("kept"), { textContent: noRoom || `${notes.length} noted, ${open} neither saved nor sent yet.`, className: noRoom ? "stop" : "" });
    const takeBack = (one) => button("take back", () => keep((all) => all.filter((other) => other.id !== one.id)));
    put($("list"), ...[...notes].reverse().map((one) =>
      within("li", ...whole(`${one.date.slice(0, 16).replace("T", " ")} ${one.bike}: ${words(one)} `), one.sent ? `(${one.sent === true ? "sent" : one.sent})` : takeBack(one))));
    ["share", "save", "copy", "picture", "clear"].forEach((id) => { $(id).disabled = !notes.length; });
    answer();
  }
  function tick(job, done) {
    const last = notes.filter((one) => jobIs(job, one) && !one.sent).pop();
    if (last) return keep((all) => all.filter((one) => one.id !== last.id));
    note({ tick: { number: job.number, ...(job.field ? { field: job.field } : {}), ...(job.part ? { part: job.part } : {}), what: job.what, done } });
  }
  // What was seen at the cylinder that is spoken of, or at all of them.
  const seen = () => (judged[who] = judged[who] || { verdict: {}, plug: "" });
  // The plug that stands there is that of the cylinder spoken of.
  function turnTo(name) {
    seen().plug = outing.elements.plug.value;
    who = name;
    outing.elements.plug.value = seen().plug;
  }
  outing.onsubmit = (event) => {
    event.preventDefault();
    const read_at = who, plugOf = (name) => (judged[name] ? judged[name].plug.trim() : "");
    turnTo("");
    const said = Object.fromEntries([...new FormData(outing)].map(([name, text]) => [name, text.trim()]).filter(([, text]) => text));
    const verdict = seen().verdict, own = Object.fromEntries(bike.cylinders.map((name) => [name, { ...(Object.keys((judged[name] || {}).verdict || {}).length ? { verdict: judged[name].verdict } : {}), ...(plugOf(name) ? { plug: plugOf(name) } : {}) }]).filter(([, one]) => Object.keys(one).length));
    const wrongly = (text) => { turnTo(read_at); return put($("logged"), text); };
    if (!Object.keys(verdict).length && !Object.keys(own).length && !Object.keys(said).length) return wrongly("No verdict yet.");
    const { minutes: ran, ...rest } = said, minutes = ran && Number(ran.replace(",", "."));
    if (ran && !(minutes > 0 && minutes < 1440)) return wrongly("The running time is no number of minutes.");
    const wrong = said.lap && pocket.lap(said.lap);
    if (wrong) return wrongly(wrong);
    const read = pocket.reading(values(), data.imperial), of = { ...(values().place ? { place: values().place } : {}), ...rest };
    if (minutes) of.hours = `${minutes} min`;
    if (read.air && !aged()) of.air = read.entry;
    if (Object.keys(verdict).length) of.verdict = verdict;
    if (Object.keys(own).length) of.cylinder = own;
    if (!note({ outing: of })) return wrongly(`${MOST} notes are kept here: send them and clear them first.`);
    judged = {};
    outing.reset();
    render();
    const lean = pocket.lean(of, data.lean), sounds = pocket.sounds(of, data.lean);
    const newest = notes[notes.length - 1], back = button("Take it back", () => {
      let sent = false;
      keep((all) => {
        sent = all.some((one) => one.id === newest.id && one.sent);
        return all.filter((one) => one.id !== newest.id || one.sent);
      });
      const how = `It was sent before: it comes home with the others. Once it is in the book, take it out there: \`reedbook outing remove ${newest.bike} ${newest.id}\``;
      put($("logged"), sent ? worded("p", how, "stop") : "Taken back.");
    });
    put($("logged"), `Logged for ${bike.bike}: ${words({ outing: of })}`, ...(lean ? [el("p", lean, "stop")] : []), ...(sounds ? [el("p", sounds, "know")] : []), " ", back);
  };
  // The file that is sent, a note a line.
  function file(of = notes) {
    const head = JSON.stringify({ phone_notes: data.version, garage: data.garage, made: data.made, written: now() });
    const lines = of.map(({ sent, ...one }) => JSON.stringify(one));
    return `${head.slice(0, -1)},"notes":[\n${lines.join(",\n")}\n]}\n`;
  }
  const name = () => `notes-${now().slice(0, 16).replace(/[T:]/g, "-")}.json`;
  const sent = (how, said) => { const ids = new Set(notes.map((one) => one.id)); keep((all) => all.map((one) => ids.has(one.id) ? { ...one, sent: how } : one)); put($("sent"), `${said} At the laptop: reedbook outing import FILE.`); };
  const files = () => [new File([file()], name(), { type: "application/json" }), new File([file()], `${name()}.txt`, { type: "text/plain" })];
  const sendable = () => navigator.canShare && files().find((one) => navigator.canShare({ files: [one] }));
  $("share").hidden = !sendable();
  $("share").onclick = () => navigator.share({ files: [sendable()] }).then(() => sent("sent", "Sent."), () => put($("sent"), "Not sent."));
  $("save").onclick = () => {
    Object.assign(el("a"), { href: URL.createObjectURL(files()[0]), download: name() }).click();
    sent("saved", "Saved on this phone: send the file from there.");
  };
  $("copy").onclick = () => {
    const plain = Object.assign($("plain"), { value: file(), hidden: false });
    plain.select();
    const copied = navigator.clipboard ? navigator.clipboard.writeText(plain.value) : Promise.reject();
    copied.then(() => sent("copied", "Copied: paste it into a message or a file."), () => put($("sent"), "Copy the text below by hand."));
  };
  // What was neither saved nor sent as dots that another phone's camera reads; whether it did nobody tells this page.
  $("picture").onclick = () => {
    const open = notes.filter((one) => !one.sent), text = file(open).trim().replace(/[^\x20-\x7e\n]/g, (letter) => `\\u${letter.charCodeAt(0).toString(16).padStart(4, "0")}`);
    $("dots").hidden = true;
    if (!open.length) return put($("sent"), "All of it was saved or sent.");
    if (text.length > MOST_DOTS) return put($("sent"), `Too much for a picture (${text.length} letters of ${MOST_DOTS}): save it as a file, or copy it.`);
    const dots = drawnAsDots.generate(text, { modes: [drawnAsDots.mode.ascii] }), NS = "http://www.w3.org/2000/svg", QUIET = 4, across = dots.size + 2 * QUIET;
    const drawn = document.createElementNS(NS, "svg"), path = document.createElementNS(NS, "path");
    let line = "";
    for (let y = 0; y < dots.size; y += 1) for (let x = 0; x < dots.size; x += 1) if (dots.get(x, y)) line += `M${x + QUIET} ${y + QUIET}h1v1h-1z`;
    path.setAttribute("d", line);
    Object.entries({ viewBox: `0 0 ${across} ${across}`, role: "img", "aria-label": "The notes as dots", "shape-rendering": "crispEdges" }).forEach(([name, value]) => drawn.setAttribute(name, value));
    drawn.append(path);
    put($("dots"), drawn);
    $("dots").hidden = false;
    $("dots").scrollIntoView({ block: "end" });
    put($("sent"), `${open.length} noted: point another phone's camera at it, and send on what it reads. They count as not sent until they are saved, sent or copied.`);
  };
  $("clear").onclick = () => { if (confirm("Clear what was saved or sent from this page? What never came home is lost.")) keep((all) => all.filter((one) => !one.sent)); };
  form.onsubmit = (event) => event.preventDefault();
  form.oninput = () => { readAt = Date.now(); render(); };
  document.querySelectorAll("#bikes button").forEach((one) => { one.onclick = () => { bike = data.bikes.find((other) => other.bike === one.value); judged = {}; who = ""; outing.elements.plug.value = ""; put($("logged")); render(); }; });
  document.querySelectorAll(".scripted").forEach((one) => { one.hidden = false; });
  document.onvisibilitychange = render;
  setInterval(render, 60e3);
  // A browser that fills the form in again does not say when that air was read.
  form.reset();
  load();
  render();
})();
