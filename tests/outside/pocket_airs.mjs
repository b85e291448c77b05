// The pocket page against the command, by hand: random airs are answered by the page's own script and by `reedbook rejet`, and every
// sentence is compared: the hands' lines to the letter, percents in a sentence to 0.1, chances to 1 in 100; and the page holds its answer
// back where the command asks before any size, and nowhere else.
//
//   reedbook demo && cd reedbook-demo && reedbook sheet pocket
//   node tests/outside/pocket_airs.mjs pocket.html path/to/reedbook 500
import fs from "node:fs";
import vm from "node:vm";
import { spawnSync } from "node:child_process";

const [page, program, count = "500", only = ""] = process.argv.slice(2);
const html = fs.readFileSync(page, "utf8");
const data = JSON.parse(/<script id="data" type="application\/json">(.*?)<\/script>/s.exec(html)[1]);
const script = html.slice(html.lastIndexOf("<script"), html.lastIndexOf("</script>")).replace(/^<script[^>]*>/, "");
const pocket = vm.runInThisContext(`${script}\npocket`);

let seed = 20261128;
const random = () => ((seed = (seed * 1103515245 + 12345) % 2147483648) / 2147483648);
const between = (low, high, decimals) => (low + (high - low) * random()).toFixed(decimals);
const flat = (text) => text.replace(/`/g, "").replace(/\s+/g, " ").trim();
// A screen that is short says it so; on paper nothing is recorded.
const alike = (text) => flat(text)
  .replace(/Recorded but not fitted yet: (.*?)\. What is fitted here counts from what is on it\./g, "Not fitted yet: $1. This counts from what is on it.")
  .replace(/(Not fitted yet: .*?\. This counts from what is on it)[.;]/g, "$1");
const told = (asked) => asked.map((one) => one.map(([from, question, instead]) => [from, data.words[question], data.words[instead]]));
const NUMBER = /\d+(?:\.\d+)?(?= %)/g;

let sentences = 0, chances = 0, worst = 0, off = 0, wrong = 0, held = 0;
const bikes = data.bikes.filter((bike) => !only || bike.bike === only);
for (let number = 0; number < Number(count); number += 1) {
  const bike = bikes[number % bikes.length], { cylinder, table } = bike.wants[Math.floor(number / bikes.length) % bike.wants.length];
  const form = { kind: "baro", temp: between(-8, 42, 1), pressure: between(760, 1045, 1), elevation: "", humidity: between(2, 100, 0) };
  if (number % 3 === 0) Object.assign(form, { kind: "qnh", pressure: between(990, 1035, 1), elevation: between(0, 2200, 0) });
  const { air, entry } = pocket.reading(form, data.imperial);
  const found = pocket.wants(table, air, data.imperial);
  if (!found) { console.log("beyond the table:", form); continue; }
  const words = Object.entries(entry).flatMap(([name, text]) => [`--${name}`, text]);
  const run = (more) => spawnSync(program, ["rejet", bike.bike, "--sure", ...(cylinder ? ["--cylinder", cylinder] : []), ...words, ...more], { encoding: "utf8", env: { ...process.env, COLUMNS: "100" } });
  const page_asks = pocket.asked(pocket.reading(form, data.imperial), told(bike.asked));
  const holds = Boolean(page_asks.rest.length || page_asks.height && found.leaner);
  const bare = spawnSync(program, ["rejet", bike.bike, ...(cylinder ? ["--cylinder", cylinder] : []), ...words], { encoding: "utf8" });
  held += holds;
  // With an altimeter setting the page asks of the pressure as if a barometer had shown it, where the command takes the height for granted.
  if (holds !== (bare.status !== 0) && !(holds && form.kind === "qnh")) { wrong += 1; console.log("HELD", holds, bike.bike, words.join(" "), bare.stderr.slice(0, 300)); }
  const text = alike(run([]).stdout.split("\n").map((line) => line.replace(/^(!!|!) /, "")).join(" ").replace(/\s+/g, " "));
  for (const [sort, said] of found.parts) {
    if (sort === "chances") continue;
    // Facts give way where a screen is short.
    if (sort === "say" && !text.includes("Own runs weigh")) continue;
    sentences += 1;
    if (text.includes(alike(said))) continue;
    const masked = new RegExp(alike(said).replace(/[.*+?^${}()|[\]\\]/g, "\\$&").replace(/\d+(?:\\\.\d+)?(?= %)/g, "(\\d+(?:\\.\\d+)?)"));
    const there = masked.exec(text), here = alike(said).match(NUMBER) || [];
    const apart = there ? Math.max(...here.map((value, at) => Math.abs(Number(value) - Number(there[at + 1])))) : Infinity;
    off = Math.max(off, apart === Infinity ? off : apart);
    if (sort === "hands" || apart > 1.001) { wrong += 1; console.log("NOT THE SAME", bike.bike, words.join(" "), "\n  page:", said, "\n  program:", text.slice(0, 300)); }
  }
  const sizes = JSON.parse(run(["--json"]).stdout).sizes;
  for (const [size, ...rest] of found.sizes) {
    const odds = sizes.find((one) => Math.abs(one.size - Number(size.replace(" %", ""))) < 1e-6);
    if (!odds) { wrong += 1; console.log("no such size", bike.bike, size, words.join(" ")); continue; }
    [odds.p_lean, odds.p_right, odds.p_rich].forEach((p, at) => {
      const shown = rest[at] === "<1" ? 0.25 : rest[at] === ">99" ? 99.75 : Number(rest[at]);
      chances += 1;
      worst = Math.max(worst, Math.abs(100 * p - shown));
      if (Math.abs(100 * p - shown) > 1) { wrong += 1; console.log("chance", bike.bike, size, p, rest[at], words.join(" ")); }
    });
  }
}
console.log(`${count} airs, ${sentences} sentences, ${chances} chances, ${held} held back: ${wrong} wrong; the chances are within ${worst.toFixed(2)} in 100, percents in sentences within ${off.toFixed(2)}.`);
process.exitCode = wrong ? 1 : 0;
