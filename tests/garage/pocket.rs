//! The page for the pocket: it says what the command says, it runs nothing but its own script whatever stands in the garage, and what is
//! noted on it comes home once.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and start programs

mod notes;
mod what_ran;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

use reedbook::air::Air;
use reedbook::quantity::fixed;
use serde_json::Value;
use tempfile::TempDir;

use crate::replayed::{demo_in, temporary_folder};

fn reedbook(garage: &Path, words: &[&str]) -> Output {
    let home = garage.parent().unwrap();
    fs::write(home.join(".gitconfig"), "[user]\n\tname = Ana\n\temail = ana@example.org\n").unwrap();
    Command::new(env!("CARGO_BIN_EXE_reedbook"))
        .args(words)
        .current_dir(garage)
        .env("HOME", home)
        .env("TZ", "UTC")
        .env("GIT_CONFIG_GLOBAL", home.join(".gitconfig"))
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env("REEDBOOK_NOW", NOW)
        .env("COLUMNS", "100")
        .output()
        .unwrap()
}

pub(crate) const NOW: &str = "2026-11-28T18:00+00:00";
const SCRIPTS: [&str; 3] = [
    include_str!("../../src/report/page/pocket/sums.js"),
    include_str!("../../src/report/page/pocket/qr.js"),
    include_str!("../../src/report/page/pocket/page.js"),
];
const MADE: &str = "2026-11-28T09:00+00:00";

fn done(garage: &Path, words: &[&str]) -> String {
    let out = reedbook(garage, words);
    assert!(out.status.success(), "{words:?}: {}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

fn refused(garage: &Path, words: &[&str]) -> String {
    let out = reedbook(garage, words);
    assert_eq!(out.status.code(), Some(1), "{words:?}: {}", String::from_utf8_lossy(&out.stdout));
    flat(&String::from_utf8(out.stderr).unwrap())
}

/// Words without their line ends.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A copy of the demo of this test's own.
fn garage() -> (TempDir, PathBuf) {
    let folder = temporary_folder();
    let garage = folder.path().join("demo");
    demo_in(&garage);
    (folder, garage)
}

/// The page of some bikes, and what its script reads.
fn page(garage: &Path, bikes: &[&str]) -> (String, Value) {
    done(garage, &[&["sheet", "pocket"][..], bikes].concat());
    let page = fs::read_to_string(garage.join("pocket.html")).unwrap();
    let data = data(&page);
    (page, data)
}

fn data(page: &str) -> Value {
    let data = page.split("<script id=\"data\" type=\"application/json\">").nth(1).unwrap();
    serde_json::from_str(data.split("</script>").next().unwrap()).unwrap()
}

/// The page of the whole demo, asked for at this moment: no other takes so long.
pub(crate) fn page_of_the_demo() -> &'static str {
    static PAGE: OnceLock<String> = OnceLock::new();
    PAGE.get_or_init(|| {
        let (_folder, garage) = garage();
        page(&garage, &[]).0
    })
}

/// What a bike's table says in the page's data.
fn table<'d>(data: &'d Value, bike: &str) -> &'d Value {
    let bikes = data["bikes"].as_array().unwrap();
    &bikes.iter().find(|one| one["bike"] == bike).unwrap()["wants"][0]["table"]
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// A part of an answer: its sort and its words. A size with its chances.
type Part = (String, String);
type Size = (String, [f64; 3]);

/// What a table says in an air, as the script of the page looks it up: parts in words, and the sizes with their chances.
fn looked_up(table: &Value, air: &Air) -> (Vec<Part>, Vec<Size>) {
    assert_eq!(table["venturi"], true);
    let felt = air.dry_density().ln() - air.density().ln() / 2.0;
    assert!((number(&table["range"][0])..=number(&table["range"][1])).contains(&felt));
    let thinner =
        table["thinner"].as_array().unwrap().iter().filter(|one| air.dry_density() < number(one)).count();
    let runs = table["runs"][thinner].as_array().unwrap();
    let run = runs.iter().rfind(|run| felt >= number(&run[0])).unwrap_or(&runs[0]);
    let place = |value: &Value| usize::try_from(value.as_u64().unwrap()).unwrap();
    let said: Vec<&Value> = run[1].as_array().unwrap().iter().map(|at| &table["parts"][place(at)]).collect();
    let text = |part: &Value| table["texts"][place(&part[0])].clone();
    let smooth = |c: char| ('\u{e001}'..='\u{e004}').contains(&c);
    let percents: usize =
        said.iter().map(|part| text(part)[1].as_str().unwrap().matches(smooth).count()).sum();
    let rows = run[2].as_array().unwrap();
    let given: Vec<f64> = serde_json::from_value(run[3].clone()).unwrap();
    let wide = 1 + rows.len() + percents;
    assert_eq!(given.len() % wide, 0, "{run}");
    let mut knots: Vec<Vec<f64>> = Vec::new();
    for knot in given.chunks(wide) {
        let before = knots.last().cloned().unwrap_or_else(|| vec![0.0; wide]);
        knots.push(knot.iter().zip(before).map(|(value, before)| value + before).collect());
    }
    let felt = (felt - number(&run[0])) * 1e9;
    let after = knots.iter().position(|knot| knot[0] >= felt).unwrap_or(knots.len() - 1);
    let (low, high) = (&knots[after.saturating_sub(1)], &knots[after]);
    let along = if high[0] > low[0] { ((felt - low[0]) / (high[0] - low[0])).clamp(0.0, 1.0) } else { 0.0 };
    let mut numbers = low.iter().zip(high).skip(1).map(|(low, high)| low + along * (high - low));
    let mut sizes = Vec::new();
    for row in rows.chunks(2) {
        let size = table["sizes"][place(&row[0])].as_str().unwrap();
        let [lean, rich] = [(); 2].map(|()| numbers.next().unwrap() / 1e4);
        sizes.push((size.to_owned(), [lean, 1.0 - lean - rich, rich]));
    }
    let in_short =
        format!("{} % air, {} C", fixed(air.relative_density_percent(), 1), fixed(air.temperature_c(), 0));
    let mut parts = Vec::new();
    for part in said {
        let text = text(part);
        let mut words = text[1].as_str().unwrap().replace('\u{e000}', &in_short);
        for value in part[1].as_array().unwrap() {
            words = words.replacen('\u{e00f}', value.as_str().unwrap(), 1);
        }
        while let Some(sign) = words.chars().find(|c| smooth(*c)) {
            let decimals = u32::from(sign) - 0xe001;
            let value = numbers.next().unwrap() / 10_f64.powi(i32::try_from(decimals).unwrap());
            words = words.replacen(sign, &fixed(value, usize::try_from(decimals).unwrap()), 1);
        }
        parts.push((text[0].as_str().unwrap().to_owned(), words));
    }
    (parts, sizes)
}

/// The words of a text with every percent left out.
fn without_percents(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let is_percent = |at: usize| words.get(at + 1).is_some_and(|next| next.starts_with('%'));
    (0..words.len()).map(|at| if is_percent(at) { "#" } else { words[at] }).collect::<Vec<_>>().join(" ")
}

#[test]
fn a_table_says_in_any_air_what_the_command_says() {
    let (_folder, garage) = garage();
    says_what_the_command_says(&garage, &data(page_of_the_demo()), 8, (-80..420, 7600..10450));
}

/// The same in many airs, each of which takes a second.
#[test]
#[ignore = "takes minutes"]
fn a_table_says_in_many_airs_what_the_command_says() {
    let (_folder, garage) = garage();
    says_what_the_command_says(&garage, &data(page_of_the_demo()), 200, (-80..420, 7600..10450));
}

/// A lean run that one on more was right after is still not gone back to, but in air thinner than its own: the table tells the two apart.
#[test]
fn a_table_tells_air_that_is_thinner_than_that_of_a_lean_run() {
    let (_folder, garage) = garage();
    let air = ["--temp", "20", "--baro", "1000", "--humidity", "50", "--place", "Hollinmoss", "--sure"];
    let run = |verdict: &str, at: &str| {
        done(&garage, &[&["outing", "add", "ibex", verdict, "--date", at], &air[..]].concat());
    };
    run("full=lean", "2026-11-28 09:00");
    done(
        &garage,
        &["change", "ibex", "jetting.main=345", "--sure", "--why", "up", "--date", "2026-11-28 10:00"],
    );
    done(&garage, &["job", "done", "all", "ibex"]);
    run("full=right", "2026-11-28 11:00");
    let (_, data) = page(&garage, &["ibex"]);
    // Two airs within 2 % are one.
    let ran = Air::from_relative_humidity(20.0, 100_000.0, 0.5).unwrap().dry_density() * 0.98;
    let thinner = table(&data, "ibex")["thinner"].as_array().unwrap();
    assert!(thinner.iter().any(|density| (number(density) - ran).abs() < 1e-4), "{ran}: {thinner:?}");
    says_what_the_command_says(&garage, &data, 6, (100..350, 9650..10050));
}

fn says_what_the_command_says(
    garage: &Path,
    data: &Value,
    airs: usize,
    (temperatures, pressures): (std::ops::Range<i32>, std::ops::Range<i32>),
) {
    let table = table(data, "ibex");
    let mut random = fastrand::Rng::with_seed(20_261_128);
    for _ in 0..airs {
        let temperature = f64::from(random.i32(temperatures.clone())) / 10.0;
        let pressure = f64::from(random.i32(pressures.clone())) / 10.0;
        let humidity = f64::from(random.i32(11..=100));
        let air = Air::from_relative_humidity(temperature, pressure * 100.0, humidity / 100.0).unwrap();
        let (parts, sizes) = looked_up(table, &air);
        let typed = [temperature.to_string(), pressure.to_string(), humidity.to_string()];
        let words =
            ["rejet", "ibex", "--sure", "--temp", &typed[0], "--baro", &typed[1], "--humidity", &typed[2]];
        let said = done(garage, &words).replace("\n! ", "\n").replace("\n!! ", "\n").replace('`', "");
        let said = flat(&said);
        for (sort, words) in parts.iter().filter(|(sort, _)| sort != "chances") {
            let words = flat(&words.replace('`', ""));
            // Facts give way at a screen, and -v says them otherwise: they are compared where the command had room for them.
            if sort == "say" && !said.contains("Own runs weigh") {
                continue;
            }
            let there = if sort == "hands" {
                said.contains(&words)
            } else {
                without_percents(&said).contains(&without_percents(&words))
            };
            assert!(there, "{typed:?}: {words}\n{said}");
        }
        let told: Value = serde_json::from_str(&done(garage, &[&words[..], &["--json"]].concat())).unwrap();
        assert!(!sizes.is_empty());
        for (size, chances) in sizes {
            let of_it = |one: &&Value| (number(&one["size"]) - size.parse::<f64>().unwrap()).abs() < 1e-9;
            let odds = told["sizes"].as_array().unwrap().iter().find(of_it).unwrap();
            for (name, chance) in ["p_lean", "p_right", "p_rich"].iter().zip(chances) {
                assert!(
                    (number(&odds[name]) - chance).abs() < 0.01,
                    "{typed:?}: {size} {name} {chance} {odds}"
                );
            }
        }
    }
}

/// By the page's own script, in node: 500 airs, all bikes. Takes a quarter of an hour.
#[test]
#[ignore = "needs node, and a quarter of an hour"]
fn the_script_says_in_500_airs_what_the_command_says() {
    let (_folder, garage) = garage();
    done(&garage, &["sheet", "pocket"]);
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside/pocket_airs.mjs");
    let out = Command::new("node")
        .args([
            script.as_os_str(),
            "pocket.html".as_ref(),
            env!("CARGO_BIN_EXE_reedbook").as_ref(),
            "500".as_ref(),
        ])
        .current_dir(&garage)
        .env("REEDBOOK_NOW", NOW)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&out.stdout);
    assert!(
        out.status.success() && said.contains("500 airs"),
        "{said}{}",
        String::from_utf8_lossy(&out.stderr)
    );
}

#[test]
fn nothing_of_the_garage_is_markup_or_script_and_nothing_is_loaded() {
    let (_folder, garage) = garage();
    let hostile = "</script><img src=x onerror=alert(1)>\u{2028}\"'`${alert(2)}";
    done(&garage, &["bike", "new", "wasp"]);
    done(
        &garage,
        &[
            "change",
            "wasp",
            "jetting.main=170",
            "jetting.main_numbered_by=flow",
            "--sure",
            "fuel.name=pump",
            "--why",
            hostile,
            "--date",
            "2026-11-19",
        ],
    );
    let words = ["outing", "add", "wasp", "full=right", "--sure", "--date", "2026-11-20 10:00", "--place"];
    done(&garage, &[&words[..], &["<b>Fenn</b> & \"co\"", "--note", hostile, "--plug", hostile]].concat());
    done(&garage, &["change", "wasp", "fuel.name=</script><script>alert(3)</script>", "--why", hostile]);
    let (page, data) = page(&garage, &["wasp"]);
    // A lead within the page loads nothing.
    let page = page.replace(" href=\"#", " to=\"#");
    let tags: Vec<&str> = page.split('<').skip(1).filter_map(|rest| rest.split('>').next()).collect();
    let before_the_data = page.split("<script id=\"data\"").next().unwrap();
    assert!(!before_the_data.contains("<script"));
    let json = page.split("<script id=\"data\" type=\"application/json\">").nth(1).unwrap();
    let (json, rest) = json.split_once("</script>").unwrap();
    assert!(!json.contains(['<', '>', '&', '\u{2028}', '\u{2029}']));
    let nonce = rest.strip_prefix("<script nonce=\"").and_then(|rest| rest.split('"').next()).unwrap();
    assert_eq!(rest.matches("<script").count(), 1);
    assert!(nonce.len() == 24 && page.contains(&format!("default-src 'none'; script-src 'nonce-{nonce}'")));
    assert!(
        !tags.iter().any(|tag| tag.starts_with("img") || tag.starts_with("b>") || tag.contains(" onerror="))
    );
    for loads in [" src=", " href=", "url(", "@import", "fetch(", "XMLHttpRequest", "innerHTML", "eval("] {
        assert!(
            !page.replace(json, "").contains(loads) || !tags.iter().any(|tag| tag.contains(loads)),
            "{loads}"
        );
        assert!(!SCRIPTS.concat().contains(loads), "{loads}");
    }
    let job = data["bikes"][0]["jobs"].as_array().unwrap().iter().find(|job| job["field"] == "fuel.name");
    assert!(job.unwrap()["what"].as_str().unwrap().contains("</script><script>alert(3)"));
    assert!(SCRIPTS.iter().all(|script| script.lines().count() < 300));
}
