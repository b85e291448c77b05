//! Session sheets, blank and typed in; runs in an order that was asked for.

use serde_json::json;

use super::{answer, demo, error, folder, own_garage};

#[test]
fn a_blank_sheet() {
    let sheet = answer("sheet-session", &demo().0, &["sheet", "session", "moth", "--place", "Hollinmoss"]);
    assert_eq!((&sheet["lines"], &sheet["place"]), (&json!(8), &json!("Hollinmoss")));
    assert_eq!(sheet["bikes"][0]["on_it"][0]["what"], "main");
    let all = answer("sheet-session", &demo().0, &["sheet", "session"]);
    assert_eq!(all["bikes"].as_array().unwrap().len(), 4);
}

#[test]
fn pages_and_pictures_that_are_written() {
    let folder = folder("pages");
    let page = |words: &[&str], file: &str| {
        let to = folder.join(file).display().to_string();
        let said = answer("sheet-page", &demo().0, &[words, &["--to", &to]].concat());
        let written = std::fs::read(&to).unwrap();
        assert_eq!(said["bytes"], json!(written.len()));
        assert_eq!(said["file"], json!(to));
        (said, written)
    };
    let (van, _) = page(&["sheet", "van"], "van.html");
    assert_eq!((&van["of"], &van["without"]), (&json!(["ibex", "moth", "otter", "wren"]), &json!([])));
    let (card, _) = page(&["sheet", "card", "moth"], "card.html");
    assert_eq!(card["of"], json!(["moth"]));
    let (build, whole) = page(&["sheet", "build", "cicada"], "build.html");
    assert_eq!(build["without"], json!([]));
    let (customer, less) = page(&["sheet", "build", "cicada", "--for-customer"], "customer.html");
    assert_eq!(customer["without"][0], "the sections ports, head, extra, notes");
    let says = |page: &[u8], words: &str| String::from_utf8_lossy(page).contains(words);
    // What was read of port and head work, the builder's words, and the reason.
    for private in ["Squish", "Deck height</", "Reed gap", "Six hours on the old piston", "after the final"] {
        assert!(says(&whole, private), "{private}");
    }
    for private in
        ["Squish clearance", "Least squish", "Reed gap", "Six hours on the old piston", "after the final"]
    {
        assert!(!says(&less, private), "{private}");
    }
    for open in ["Piston clearance", "Base nuts", "20 Nm", "piston-5", "Largest bore"] {
        assert!(says(&less, open), "{open}");
    }
    let wrong = error(&demo().0, &["sheet", "build", "cicada", "--for-customer", "--omit", "porst"]);
    assert!(wrong["error"]["message"].as_str().unwrap().contains("porst"));
    let air = ["--temp", "18", "--baro", "1002", "--humidity", "60"];
    let (_, picture) = page(&[&["sheet", "moth", "--png", "package"][..], &air].concat(), "package.png");
    assert!(picture.starts_with(b"\x89PNG") && picture.len() < 40_000, "{}", picture.len());
    // A picture that is not ours is left as it is, as a page is.
    std::fs::write(folder.join("mine.png"), b"\x89PNG\r\n\x1a\n of a race").unwrap();
    let mine = folder.join("mine.png").display().to_string();
    error(&demo().0, &["sheet", "moth", "--png", "spark", "--to", &mine]);
}

#[test]
fn a_sheet_that_was_typed_in_is_taken_once() {
    let garage = own_garage("sheet");
    let sheet = "bike,date,time,place,session,temp,baro,humidity,full,lap\n\
                 moth,2026-10-09,10:00,Hollinmoss,practice 1,19,958,60,>,1:21.4\n\
                 moth,2026-10-09,10:40,Hollinmoss,practice 2,19,958,60,=,1:20.9\n\
                 moth,2026-10-09,,Hollinmoss,,,,,,\n";
    std::fs::write(garage.join("sheet.csv"), sheet).unwrap();
    let words = ["outing", "import", "sheet.csv"];
    let first = answer("outing-import", &garage, &words);
    let lines: Vec<_> = first["logged"].as_array().unwrap().iter().map(|run| run["line"].as_u64()).collect();
    assert_eq!((lines, &first["blank"]), (vec![Some(2), Some(3)], &json!(1)));
    std::fs::write(garage.join("sheet.csv"), sheet.replace("1:20.9", "1:20.8")).unwrap();
    let again = answer("outing-import", &garage, &words);
    assert_eq!(again["logged"], json!([]));
    assert_eq!(again["known"][1]["differs"], json!(["lap"]));
    assert_eq!(again["known"][1]["id"], first["logged"][1]["outing"]["id"]);
    let wrong = sheet.replace('>', "good").replace("10:40", "noon").replace("practice", "heat");
    std::fs::write(garage.join("sheet.csv"), wrong).unwrap();
    let told = error(&garage, &words);
    let places: Vec<_> = told["more"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| (one["line"].as_u64(), one["field"].clone()))
        .collect();
    assert_eq!(places, [(Some(2), json!("full")), (Some(3), json!("time"))]);
}

#[test]
fn runs_in_the_order_that_is_asked_for() {
    let laps = |words: &[&str]| -> Vec<f64> {
        let list = answer("outing", &demo().0, words);
        let runs = list["outings"].as_array().unwrap().iter();
        runs.filter_map(|run| run["ran"]["lap_s"].as_f64()).collect()
    };
    let fastest = laps(&["outing", "list", "moth", "--by", "lap"]);
    assert!(fastest.len() > 20 && fastest.is_sorted(), "{fastest:?}");
    let mut slowest = laps(&["outing", "list", "moth", "--by", "lap", "--reverse"]);
    slowest.reverse();
    assert_eq!(slowest, fastest);
    let here = answer("find", &demo().0, &["find", "--place", "fenn", "jetting.needle=n2", "--by", "main"]);
    let found = here["found"].as_array().unwrap();
    let jets: Vec<f64> =
        found.iter().filter_map(|one| one["outing"]["ran"]["main"].as_str()?.parse().ok()).collect();
    assert!(jets.len() > 5 && jets.windows(2).all(|pair| pair[0] >= pair[1]), "{jets:?}");
    let asked = json!([{ "field": "jetting.needle", "value": "n2" }]);
    assert!(
        found
            .iter()
            .filter(|one| one.get("outing").is_some())
            .all(|one| one["outing"]["ran"]["asked"] == asked)
    );
}

#[test]
fn the_sheet_of_a_bike_says_where_it_was_written() {
    let to = folder("paper").join("moth.html");
    let words =
        ["sheet", "moth", "--to", to.to_str().unwrap(), "--temp", "18", "--baro", "1002", "--humidity", "60"];
    let sheet = answer("sheet", &demo().0, &words);
    let written = std::fs::metadata(&to).unwrap().len();
    assert_eq!(sheet["bytes"], serde_json::json!(written));
    assert_eq!(sheet["bike"], "moth");
}

#[test]
fn the_page_for_the_pocket_says_which_bikes_it_has_and_which_have_no_answer() {
    let garage = own_garage("pocket");
    answer("bike", &garage, &["bike", "new", "wasp"]);
    let page = answer("sheet-pocket", &garage, &["sheet", "pocket", "wasp"]);
    let written = std::fs::metadata(garage.join("pocket.html")).unwrap().len();
    assert_eq!((&page["bytes"], &page["bikes"]), (&json!(written), &json!(["wasp"])));
    assert!(page["without_answers"][0].as_str().unwrap().starts_with("wasp without answers: "));
}
