//! The pocket page under a finger: what it holds back, and what it hands over.

use serde_json::json;

use super::chromium::Chromium;
use super::{AIR, NOW, WINDOWS, browser, clock, reedbook};
use crate::common::Shed;

fn text(browser: &mut Chromium, id: &str) -> String {
    let text = browser.eval(&format!("document.getElementById('{id}').innerText"));
    text.as_str().unwrap().split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Puts a word into a field of the air in the place of what stood there.
fn put(browser: &mut Chromium, field: &str, value: &str) {
    browser.eval(&format!(
        "{{ const one = document.querySelector('#reading [name={field}]'); one.value = '{value}'; one.dispatchEvent(new Event('input', {{ bubbles: true }})); }}"
    ));
}

/// A garage with one run, its page, and the bike on it.
fn opened(browser: &mut Chromium) -> Shed {
    let shed = Shed::new();
    let garage = shed.root();
    let run: Vec<&str> = ["outing", "add", "moth", "full=right", "--sure"].into_iter().chain(AIR).collect();
    reedbook(&garage, &run, NOW);
    reedbook(&garage, &["sheet", "pocket"], NOW);
    browser.ask("Page.addScriptToEvaluateOnNewDocument", json!({ "source": clock() }));
    browser.open(&garage.join("pocket.html"), WINDOWS[0]);
    browser.click("#bikes button[value=moth]");
    shed
}

#[test]
fn nothing_leaner_stands_on_a_phone_for_a_pressure_that_is_questioned() {
    let Some(mut browser) = browser() else { return };
    let _shed = opened(&mut browser);
    for (field, value) in [("temp", "18"), ("pressure", "1002"), ("humidity", "60")] {
        put(&mut browser, field, value);
    }
    let usual = text(&mut browser, "answer");
    assert!(!usual.contains('?') && usual.contains("right"), "{usual}");
    // Thinner air: leaner.
    put(&mut browser, "pressure", "900");
    let asked = text(&mut browser, "answer");
    assert!(
        asked.contains("900 hPa is far from 1002 hPa, the one pressure read here")
            && asked.contains("No size stands here"),
        "{asked}"
    );
    assert!(!asked.contains("FIT") && !asked.contains("in 100"), "{asked}");
    browser.click("#answer button");
    let said = text(&mut browser, "answer");
    assert!(said.contains("FIT") && said.contains("in 100") && !said.contains("900 hPa is far"), "{said}");
    // Denser air: richer, which stands under its question.
    put(&mut browser, "pressure", "1060");
    let said = text(&mut browser, "answer");
    assert!(said.contains("1060 hPa has never been read here") && said.contains("in 100"), "{said}");
    // A setting and a height: the pressure that they make is not what was typed.
    put(&mut browser, "kind", "qnh");
    put(&mut browser, "pressure", "1016");
    put(&mut browser, "elevation", "1100");
    let asked = text(&mut browser, "answer");
    assert!(
        asked.contains("QNH 1016 hPa at 1100 m makes 890 hPa at the track: 890 hPa is far from 1002 hPa"),
        "{asked}"
    );
    assert!(!asked.contains("FIT"), "{asked}");
}

/// Dark modules of what stands as dots on the page, row by row, without the quiet zone.
fn dots(browser: &mut Chromium) -> Vec<Vec<bool>> {
    let drawn = browser.eval("(() => { const svg = document.querySelector('#dots svg'); return [svg.viewBox.baseVal.width, svg.querySelector('path').getAttribute('d')]; })()");
    let size = usize::try_from(drawn[0].as_u64().unwrap()).unwrap() - 8;
    let mut rows = vec![vec![false; size]; size];
    for module in drawn[1].as_str().unwrap().split('M').skip(1) {
        let (x, rest) = module.split_once(' ').unwrap();
        let y = rest.split('h').next().unwrap();
        let [x, y] = [x, y].map(|at| at.parse::<usize>().unwrap() - 4);
        rows[y][x] = true;
    }
    rows
}

/// Whether another program draws a text so, at one of its levels and masks.
fn is_drawn_so(text: &str, rows: &[Vec<bool>]) -> bool {
    use fast_qr::{ECL, Mask, Mode, QRBuilder};
    let masks = [
        Mask::Checkerboard,
        Mask::HorizontalLines,
        Mask::VerticalLines,
        Mask::DiagonalLines,
        Mask::LargeCheckerboard,
        Mask::Fields,
        Mask::Diamonds,
        Mask::Meadow,
    ];
    [ECL::L, ECL::M, ECL::Q, ECL::H].into_iter().any(|level| {
        masks.into_iter().any(|mask| {
            let code = QRBuilder::new(text).mode(Mode::Byte).ecl(level).mask(mask).build().unwrap();
            let same = |y: usize, row: &Vec<bool>| (0..rows.len()).all(|x| code[y][x].value() == row[x]);
            code.size == rows.len() && rows.iter().enumerate().all(|(y, row)| same(y, row))
        })
    })
}

#[test]
fn short_notes_stand_as_dots_that_another_camera_reads_and_come_home() {
    let Some(mut browser) = browser() else { return };
    // A clock that stands still: the text is the same each time it is made.
    let still = format!(
        "(() => {{ const Real = Date, at = Real.parse('{NOW}') + 60e3; globalThis.Date = class extends Real {{ constructor(...said) {{ if (said.length) super(...said); else super(at); }} static now() {{ return at; }} }}; }})()"
    );
    browser.ask("Page.addScriptToEvaluateOnNewDocument", json!({ "source": still }));
    let shed = Shed::new();
    let garage = shed.root();
    reedbook(&garage, &["sheet", "pocket"], NOW);
    let page = garage.join("pocket.html");
    browser.open(&page, WINDOWS[0]);
    browser.click("#bikes button[value=moth]");
    let log = |browser: &mut Chromium, note: &str| {
        browser.click("#zones fieldset:first-child button:nth-of-type(3)");
        browser.write("#outing [name=notes]", note);
        browser.click("#outing button[type=submit]");
    };
    log(&mut browser, "pulls, ça va \u{1f3cd}");
    browser.click("#picture");
    assert_eq!(browser.eval(super::TOO_WIDE), json!([]));
    let said = text(&mut browser, "sent");
    assert!(
        said.contains("1 noted") && text(&mut browser, "kept").contains("1 neither saved nor sent"),
        "{said}"
    );
    let rows = dots(&mut browser);
    browser.click("#copy");
    let copied = browser.eval("document.getElementById('plain').value");
    let escaped: String = copied
        .as_str()
        .unwrap()
        .trim()
        .encode_utf16()
        .map(|unit| match char::from_u32(u32::from(unit)) {
            Some(letter) if letter.is_ascii() => letter.to_string(),
            _ => format!("\\u{unit:04x}"),
        })
        .collect();
    assert!(is_drawn_so(&escaped, &rows), "{escaped}");
    assert!(!is_drawn_so(&escaped.replace("pulls", "purls"), &rows), "and no other text");
    // As it comes out of a message.
    let message = garage.join("message.txt");
    std::fs::write(&message, format!("From the paddock:\n{escaped}\nSee you.\n")).unwrap();
    let came =
        reedbook(&garage, &["outing", "import", &message.display().to_string(), "--json"], super::LATER);
    assert!(came.contains("ça va \u{1f3cd}"), "{came}");
    // Many words are no picture.
    log(&mut browser, &"a long story ".repeat(80));
    browser.click("#picture");
    let said = text(&mut browser, "sent");
    assert!(said.contains("Too much for a picture"), "{said}");
    assert_eq!(browser.eval("document.getElementById('dots').hidden"), true);
    assert_eq!(browser.troubles(&page), Vec::<String>::new());
}
