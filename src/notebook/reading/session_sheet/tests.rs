use super::heads::COLUMNS;
use super::*;

fn read(text: &str) -> SessionSheet {
    let options = SheetOptions { bike: Some("moth"), here: Offset::UTC };
    read_session_sheet(Path::new("sheet.csv"), text.as_bytes(), options)
}

#[test]
fn what_spreadsheets_make_of_a_sheet_is_understood() {
    let plain = read("date,time,session,temp,full\n2026-05-16,9:40,heat 1,24.5,sl\n");
    assert!(plain.findings.is_empty(), "{:?}", plain.findings);
    for text in [
        "\u{feff}Date;Time;Session;Temp (C);Full\r\n16.05.2026;09:40;heat 1;24,5;<\r\n;;;;\r\n",
        "date\ttime\tsession\ttemp\tfull\n2026-05-16\t9:40\theat 1\t24,5\tslightly lean\n",
        "date,time,session,temp,full\r2026-05-16,9:40:00,heat 1,\"24,5\",slightly-lean\r",
    ] {
        let other = read(text);
        assert!(other.findings.is_empty(), "{text}: {:?}", other.findings);
        assert_eq!(other.runs.len(), 1, "{text}");
        assert_eq!(other.runs[0].identity(), plain.runs[0].identity(), "{text}");
        assert_eq!(other.runs[0].fields["air"], plain.runs[0].fields["air"], "{text}");
        assert_eq!(other.runs[0].fields["verdict"], plain.runs[0].fields["verdict"], "{text}");
    }
}

#[test]
fn what_can_be_read_in_two_ways_is_refused_with_its_line_and_column() {
    let sheet = read(
        "date,temp,baro,full\n,20,1008,right\n05/06/2026,20,1008,right\n2026-05-16,20,\"1,013\",right\n2026-05-17,20,1008,good\n\n2026-05-18,21,1008,right\n2026-05-18,22,1008,rich\n2026-05-19,,,,x\n",
    );
    let places: Vec<_> = sheet
        .findings
        .iter()
        .map(|one| (one.place.line.unwrap(), one.place.field.as_deref().unwrap(), one.code))
        .collect();
    assert_eq!(
        places,
        [
            (2, "date", Code::MissingField),
            (3, "date", Code::BadDate),
            (4, "baro", Code::BadQuantity),
            (5, "full", Code::NotAChoice),
            (8, "session", Code::Contradiction),
            (9, "line", Code::WrongSort),
        ]
    );
    assert_eq!(sheet.runs.len(), 1);
    assert!(sheet.findings.iter().all(|one| !one.help.is_empty()));
}

#[test]
fn a_line_without_a_date_is_of_the_day_and_the_place_above_it() {
    let sheet = read(
        "date,time,place,full\n2026-05-16,9:40,Tarn Hollow,right\n,10:20,,rich\n,11:00,Teal Pass,right\n2026-05-17,9:00,,right\n",
    );
    assert!(sheet.findings.is_empty(), "{:?}", sheet.findings);
    let said: Vec<_> = sheet
        .runs
        .iter()
        .map(|run| (run.date.short(), run.fields.get("place").and_then(toml::Value::as_str)))
        .collect();
    assert_eq!(
        said,
        [
            ("2026-05-16 09:40".to_owned(), Some("Tarn Hollow")),
            ("2026-05-16 10:20".to_owned(), Some("Tarn Hollow")),
            ("2026-05-16 11:00".to_owned(), Some("Teal Pass")),
            // Another day may have been elsewhere.
            ("2026-05-17 09:00".to_owned(), None),
        ]
    );
}

#[test]
fn a_file_that_is_no_sheet_is_refused_whole() {
    for (text, code) in
        [("", Code::Syntax), ("bike,colour\n", Code::UnknownField), ("date,date\n", Code::Contradiction)]
    {
        assert!(read(text).findings.iter().any(|one| one.code == code), "{text}");
    }
    let options = SheetOptions { bike: None, here: Offset::UTC };
    let bytes = [0xff, 0xfe, b'd', 0];
    assert_eq!(read_session_sheet(Path::new("x"), &bytes, options).findings[0].code, Code::NotText);
}

#[test]
fn a_comma_is_a_decimal_one_where_nothing_else_can_be_meant() {
    for (typed, read) in [
        ("24,5", Some("24.5")),
        ("-3,25 C", Some("-3.25 C")),
        ("0,125", Some("0.125")),
        ("1:02,4", Some("1:02.4")),
        ("1013.2", Some("1013.2")),
        ("1,013", None),
        ("1,013.2", None),
        ("1.013,2", None),
        (",5", None),
    ] {
        assert_eq!(with_a_point(typed).as_deref(), read, "{typed}");
    }
}

#[test]
fn the_blank_sheet_has_columns_that_are_read() {
    assert!(BLANK_COLUMNS.iter().all(|head| COLUMNS.iter().any(|(own, _, _)| own == head)));
    let blank = read(&format!("{}\nmoth,2026-05-16,Tarn Hollow\n", BLANK_COLUMNS.join(",")));
    assert!(blank.findings.is_empty() && blank.runs.is_empty());
    assert_eq!(blank.blank, 1);
}
