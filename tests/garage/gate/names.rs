//! Names of files are a stranger's text too: none reaches a terminal raw, and no cell of a list starts a formula.

use std::fs;

use super::Beside;

const AIR: &str = "temp=20 C; baro=1008 hPa; humidity=55";
const ORDER: &str = "\u{1b}]0;X\u{7}\u{9b}2J\u{202e}\n";

#[track_caller]
fn assert_tame(said: &str, words: &[&str]) {
    let wild = |c: char| (c.is_control() && c != '\n') || c == '\u{202e}';
    assert!(!said.contains(wild), "{words:?}: {said:?}");
}

#[test]
fn orders_to_the_terminal_in_names_of_files_are_made_visible() {
    let beside = Beside::new();
    let shed = &beside.shed;
    shed.run(&["build", "new", "moth-engine"]).done();
    let (good, bad) = ("kind = \"piston\"\n", "kind = \n");
    shed.write(&format!("parts/p{ORDER}.toml"), good);
    shed.write(&format!("parts/q{ORDER}.toml"), bad);
    shed.write(&format!("bikes/moth/outings/20260516-0900-{ORDER}aa.toml"), bad);
    shed.write(&format!("bikes/moth/maps/m{ORDER}.csv"), "x");
    shed.write(&format!("engines/moth-engine/builds/20260516-0900-{ORDER}aa.toml"), bad);
    fs::create_dir(shed.root().join(format!("bikes/b{ORDER}"))).unwrap();
    shed.write(&format!("configs/templates/t{ORDER}.toml"), bad);
    let commands: [&[&str]; 16] = [
        &["history", "moth"],
        &["garage", "check"],
        &["bike", "list"],
        &["part", "list"],
        &["part", "due"],
        &["part", "show", "p1"],
        &["part", "retire", "p1", "--how", "worn"],
        &["build", "list", "moth-engine"],
        &["build", "show", "moth-engine"],
        &["outing", "list", "moth"],
        &["outing", "add", "moth", "full=right"],
        &["rejet", "moth", "--temp", "20 C", "--baro", "1008 hPa", "--humidity", "50"],
        &["rollback", "moth", "1"],
        &["bike", "new", "gnat", "--template", "nothing"],
        &["change", "moth", "jetting.main=172", "--why", "cooler"],
        &["find", "words:piston"],
    ];
    for words in commands {
        for json in [false, true] {
            let mut words = words.to_vec();
            words.extend(json.then_some("--json"));
            let answer = beside.ends(&words);
            assert_tame(&answer.out, &words);
            assert_tame(&answer.err, &words);
        }
    }
    let check = beside.ends(&["garage", "check"]).out;
    assert!(check.contains("\\u{1b}]0;X\\u{7}"), "{check}");
}

#[test]
fn cells_of_a_list_are_no_formulas_and_no_orders() {
    let beside = Beside::new();
    let list = beside.shed.above().join("list.csv");
    let rows = "session,temp,baro,humidity,=note\n=1+cmd,-1.5,1008,50,@SUM(A1)\n\"p\u{1b}]0;X\u{7}\",20 C,1008,50,-3\n";
    fs::write(&list, rows).unwrap();
    let list = list.to_string_lossy().into_owned();
    for words in [
        ["rejet", "moth", "--baseline", "1", "--baseline-air", AIR, "--plan", &list, "--csv"].as_slice(),
        &["air", "--csv", &list],
    ] {
        let said = beside.ends(words).done().out;
        assert_tame(&said, words);
        let lines: Vec<&str> = said.lines().collect();
        assert!(lines[0].starts_with("session,temp,baro,humidity,'=note,"), "{said}");
        assert!(lines[1].starts_with("'=1+cmd,-1.5,1008,50,'@SUM(A1),"), "{said}");
        assert!(lines[2].starts_with("p\\u{1b}]0;X\\u{7},20 C,1008,50,-3,"), "{said}");
    }
}
