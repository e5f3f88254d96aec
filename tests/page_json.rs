//! The page form: valid by its own schema, told from its own types, kept on the way through.

mod support;

use gridlift::decide::Verdict;
use gridlift::export::page::{Detail, MadeBy, Origin, Page, SCHEMA};
use gridlift::lift::{PageReading, Place, Spread};
use gridlift::plane::{Point, Turn};
use serde_json::{Value, json};

fn origin() -> Origin {
    let made_by = MadeBy { gridlift: "0.1.0".into(), weights: "a1b2c3d4".into(), thresholds: "e5f6a7b8".into(), ..MadeBy::default() };
    Origin { source: "orchard/p042.jpg".into(), sha256: Some("0f".repeat(32)), made_by }
}

fn full_page(verdict: Verdict) -> Page {
    let turn = Turn::Quarter;
    let grid = support::grid(support::lattice(Point::new(100.0, 50.0), 30.0, turn), turn, verdict);
    let reading = support::page_reading((640, 480), vec![grid.clone(), grid]);
    Page::from_reading(&origin(), &reading, Detail { cells: true, timings: true })
}

fn value(page: &Page) -> Value {
    serde_json::to_value(page).expect("a page is JSON")
}

/// What is wrong with `value` by the schema.
fn faults(value: &Value) -> Vec<String> {
    let schema: Value = serde_json::from_str(SCHEMA).expect("the schema is JSON");
    let validator = jsonschema::validator_for(&schema).expect("the schema is a schema");
    validator.iter_errors(value).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

#[test]
fn every_export_is_valid() {
    for verdict in Verdict::ALL {
        assert_eq!(faults(&value(&full_page(verdict))), Vec::<String>::new());
    }
    let plain = Page::from_reading(&origin(), &support::page_reading((1, 1), Vec::new()), Detail::default());
    assert_eq!(faults(&value(&plain)), Vec::<String>::new());
    let missing = Origin { sha256: None, ..origin() };
    let error = Page::from_error(&missing, 1, "missing", "there is no such file: check the path");
    assert_eq!(faults(&value(&error)), Vec::<String>::new());
}

#[test]
fn the_schema_notices_what_is_wrong() {
    let changes: [(&str, Value); 9] = [
        ("/schema", json!("gridlift/page/2")),
        ("/sha256", json!(null)),
        ("/width", json!(0)),
        ("/grids/0/turn", json!(45)),
        ("/grids/0/givens", json!("123")),
        ("/grids/0/verdict", json!("perfect")),
        ("/grids/0/flags/0/cell", json!("r0c1")),
        ("/grids/0/cells/0/read", json!("e0")),
        ("/grids/0/lattice/3", json!([])),
    ];
    for (place, wrong) in changes {
        let mut page = value(&full_page(Verdict::Doubtful));
        *page.pointer_mut(place).expect("the field is there") = wrong;
        assert!(!faults(&page).is_empty(), "{place}");
    }
    let mut page = value(&full_page(Verdict::Doubtful));
    page["error"] = json!({"kind": "damaged", "message": "no grids may be left"});
    assert!(!faults(&page).is_empty());
}

#[test]
fn fields_stand_in_the_published_order() {
    let names = |value: &Value| value.as_object().expect("an object").keys().cloned().collect::<Vec<_>>().join(" ");
    let page = value(&full_page(Verdict::Doubtful));
    assert_eq!(names(&page), "schema source page sha256 width height made_by book error notes grids ms");
    assert_eq!(
        names(&page["grids"][0]),
        "n corners turn label label_box givens entries marks verdict confidence settled_by solutions solution solved id second conflict \
         repairs printed_solution_agrees flags lattice cells"
    );
}

#[test]
fn a_reading_is_told_as_it_is() {
    let page = value(&full_page(Verdict::Doubtful));
    let grid = &page["grids"][1];
    assert_eq!(grid["n"], 2);
    // A print turned a quarter clockwise has its own top left corner at the page's top right.
    assert_eq!(grid["corners"], json!([[370.0, 50.0], [370.0, 320.0], [100.0, 320.0], [100.0, 50.0]]));
    assert_eq!(grid["lattice"][0][1], json!([370.0, 80.0]));
    assert_eq!(grid["turn"], 90);
    assert_eq!(grid["confidence"], 0.999_999, "rounded down, not to certainty");
    assert_eq!(grid["label_box"], json!([10.0, 5.0, 20.0, 8.0]));
    assert_eq!(grid["cells"][2], json!({"cell": "r1c3", "read": "4", "p": 0.999_999, "rivals": [["x", 2.35e-5]]}));
    assert_eq!(grid["flags"][0], json!({"cell": "r1c3", "reason": "rival digits", "read": "4", "suggest": "9", "odds": 1e9}));
    assert_eq!(grid["repairs"], json!([{"cell": "r1c3", "from": "4", "to": "3"}, {"cell": "r1c2", "from": "7", "to": "."}]));
    assert_eq!(page["ms"]["decode"], 1.23);
    let kinds: Vec<_> = page["notes"].as_array().expect("a list").iter().map(|note| &note["kind"]).collect();
    assert_eq!(kinds, ["cut short", "advice", "advice"]);

    // Cells that can't be told are gaps in both lines; the printed digits stand.
    let givens = grid["givens"].as_str().expect("a line");
    for (index, cell) in grid["cells"].as_array().expect("a list").iter().enumerate() {
        let expected = match cell["read"].as_str().expect("a mark") {
            "x" => '?',
            "." | "m" => '.',
            read if read.starts_with('e') => '.',
            read => read.chars().next().expect("a digit"),
        };
        assert_eq!(givens.as_bytes()[index], expected as u8, "cell {index}");
    }
    assert!(givens.contains('?'));
}

#[test]
fn a_spread_names_its_shots_and_what_is_apart() {
    let grid = |turn, verdict| support::grid(support::lattice(Point::new(100.0, 50.0), 30.0, turn), turn, verdict);
    let pages = [
        support::page_reading((640, 480), vec![grid(Turn::None, Verdict::Doubtful)]),
        support::page_reading((800, 600), vec![grid(Turn::None, Verdict::Unreadable), grid(Turn::Quarter, Verdict::Proven)]),
    ];
    let second = Origin { source: "orchard/again.jpg".into(), sha256: Some("ab".repeat(32)), ..origin() };
    let place = |page, grid| Place { page, grid };
    let reading = PageReading { grids: vec![grid(Turn::None, Verdict::Proven)], ..pages[0].clone() };
    let spread = Spread { page: 0, reading, shown: vec![vec![place(0, 0), place(1, 1)]], unsure: vec![vec![place(1, 0)]] };
    let page = Page::from_spread(&[origin(), second], &pages, &spread, Detail::default()).expect("the pages are there");
    let page = value(&page);
    assert_eq!(faults(&page), Vec::<String>::new());
    assert_eq!((&page["source"], &page["width"]), (&"orchard/p042.jpg".into(), &640.into()));
    let shots = json!([
        {"source": "orchard/p042.jpg", "page": 1, "sha256": "0f".repeat(32), "n": 1, "turn": 0, "verdict": "doubtful"},
        {"source": "orchard/again.jpg", "page": 1, "sha256": "ab".repeat(32), "n": 2, "turn": 90, "verdict": "proven"},
    ]);
    assert_eq!(page["grids"][0]["shots"], shots);
    let notes: Vec<_> = page["notes"].as_array().expect("a list").iter().map(|note| (&note["kind"], &note["say"], &note["grid"])).collect();
    let apart = json!("whether grid 1 of orchard/again.jpg is the same can't be told: they are kept apart");
    assert!(notes.contains(&(&json!("apart"), &apart, &json!(1))), "{notes:?}");
    // What is wrong with the other shot's file is told here, since it has no form of its own.
    let of_other = |note: &&(&Value, &Value, &Value)| note.0 == "cut short" && note.1.as_str().is_some_and(|say| say.contains("again.jpg"));
    assert_eq!(notes.iter().filter(of_other).count(), 1, "{notes:?}");
    let names: Vec<&str> = page["grids"][0].as_object().expect("an object").keys().map(String::as_str).collect();
    assert_eq!(names[names.len() - 2..], ["flags", "shots"]);
}

#[test]
fn unknown_fields_pass_through() {
    let mut page = value(&full_page(Verdict::Mended));
    page["weather"] = json!("fine");
    page["grids"][0]["paper"] = json!({"colour": "yellow"});
    page["grids"][0]["flags"][0]["seen"] = json!(true);
    page["book"] =
        json!({"title": "Orchard Hours", "publisher": "Pear Tree Press", "year": null, "note": null, "rights": null, "shelf": 3});
    let read: Page = serde_json::from_value(page.clone()).expect("a page of a later release");
    assert_eq!(value(&read), page);
}

#[test]
fn another_form_is_refused() {
    let mut page = value(&full_page(Verdict::Proven));
    page["schema"] = json!("gridlift/page/2");
    let message = serde_json::from_value::<Page>(page).expect_err("another form").to_string();
    assert!(message.contains("gridlift/page/2") && message.contains("gridlift/page/1"), "{message}");
}
