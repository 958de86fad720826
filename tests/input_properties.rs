//! Whatever stands in a garden's files, reading them ends with a garden or with problems, never with a panic;
//! and every problem points into the file it names.

use proptest::prelude::*;
use putby::input::fix::fix;
use putby::input::problem::Problem;
use putby::input::render::render_all;
use putby::input::text::Source;
use putby::input::{Files, load_files};

/// A small garden with every file, sound as it stands.
const SOUND: [(&str, &str); 12] = [
    (
        "garden.toml",
        "as_of = \"2026-08-17\"\n[site]\nname = \"x\"\nlatitude_deg = 41.5\naltitude_ft = 850\n[frost]\nlast_spring = { 10 = \"05-14\", 50 = \"04-30\" }\nfirst_fall = \"10-11\"\n[frost.28]\nfirst_fall = \"10-25\"\n[climate]\nmin_f = [18, 20, 28, 38, 48, 57, 62, 61, 53, 42, 33, 24]\nmax_f = [33, 36, 46, 58, 69, 78, 82, 80, 73, 61, 49, 38]\n[household]\npeople = 4\n[kitchen]\nhours = { sat = 4, wed = 1.5 }\nclosed = [\"2026-08-15\", { from = \"2026-09-01\", until = \"2026-09-03\" }]\nextra = { \"2026-08-20\" = 3 }\nhands = [{ from = \"2026-08-01\", until = \"2026-08-31\", cooks = 2 }]\n[on_hand]\njars = 20\n[[away]]\nfrom = \"2026-07-01\"\nuntil = \"2026-07-10\"\npicked_by = \"neighbour\"\n[sowing]\nsow_days = [\"sat\"]\n[show]\nunits = \"us\"\n[measures]\nbowl = { okra = \"1.2 lb\" }\nbag = \"2 lb\"\n",
    ),
    (
        "plantings.csv",
        "planting,bed,crop,variety,sown,set_out,row_ft,area_sqft,plants,cleared,note\nbeans,North,bush bean,,2026-05-20,,10,,,2026-09-20,\nkale,South,kale,curly,2026-06-01,2026-07-05,,12,,,\"a, b\"\n,South,okra,,2026-05-25,,,,6,,\n",
    ),
    (
        "beds.csv",
        "bed,length_ft,width_ft,protection,from,until\nNorth,20,4,,,\nSouth,20,4,low_tunnel,2026-10-01,2026-12-01\n",
    ),
    (
        "crops.csv",
        "crop,days_sown,units,shape\nkale,62,bunch=0.6 lb,50; 50\n",
    ),
    ("methods.csv", "method,setup_min\nfreeze raw,7\n"),
    (
        "products.csv",
        "product,method,crops,container,container_qt,lb_per_container\nour mix,freeze raw,kale 0-1; okra 0-1,quart bag,1,2\n",
    ),
    (
        "needs.csv",
        "food,amount_per_week,unit,from,until\nkale,2,bunch,06-01,11-30\nroots,1 1/2,lb,,\n",
    ),
    (
        "goals.csv",
        "product,containers,by,eat_per_week\nfrozen beans | canned beans,12,2026-11-01,1\nrefrigerator pickled beans,,,0.5\n",
    ),
    (
        "picked.csv",
        "date,bed,crop,planting,amount,unit,guess,use,note\n2026-08-01,North,bush bean,beans,2.5,lb,yes,fresh,\n2026-08-03,,okra,,1,bowl,,,week of 2026-08-03\n",
    ),
    (
        "stores.csv",
        "date,product,change\n2026-08-02,frozen beans,3\n2026-08-09,frozen beans,-1/2\n",
    ),
    (
        "events.csv",
        "date,what,planting,value\n2026-10-01,frost,,29 F\n2026-08-20,ended,beans,\n2026-06-01,up,beans,\n2026-08-08,took,,95\n",
    ),
    (
        "weather.csv",
        "date,tmin_c,tmax_c\n2026-01-30,-5,1\n2026-01-31,,2.5\n",
    ),
];

fn garden() -> Files {
    Files {
        name: "x".to_owned(),
        content: SOUND
            .iter()
            .map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec()))
            .collect(),
        ..Files::default()
    }
}

/// Loads, renders, and checks that every problem stands where it says.
fn check(files: &Files) -> Result<(), TestCaseError> {
    mending_is_settled(files)?;
    let Err(problems) = load_files(files) else {
        return Ok(());
    };
    prop_assert!(!problems.is_empty());
    for p in &problems {
        prop_assert!(p.text.get(p.span.clone()).is_some(), "{p:?}");
        prop_assert!(stands_there(p, files), "{p:?}");
    }
    for colour in [false, true] {
        let text = render_all(&problems, colour);
        prop_assert!(text.lines().count() < 400);
        if !colour {
            prop_assert!(!text.contains(|c: char| c.is_control() && c != '\n'));
        }
    }
    Ok(())
}

/// Mending once is enough, and a garden that was understood is understood the same.
fn mending_is_settled(files: &Files) -> Result<(), TestCaseError> {
    let mut mended = files.clone();
    for one in fix(files) {
        prop_assert!(!one.changes.is_empty());
        mended.content.insert(one.file, one.after);
    }
    prop_assert!(fix(&mended).is_empty());
    if let Ok(before) = load_files(files) {
        let after = load_files(&mended);
        prop_assert!(after.is_ok_and(
            |a| a.plantings == before.plantings && a.household.needs == before.household.needs
        ));
    }
    Ok(())
}

/// Says whether the line that a problem shows is the line of that number in its file.
fn stands_there(p: &Problem, files: &Files) -> bool {
    let (Some(line), Some(bytes)) = (p.line, files.content.get(&p.file)) else {
        return true;
    };
    let Ok(text) = std::str::from_utf8(bytes) else {
        return true;
    };
    let source = Source::from_text("", text.trim_start_matches('\u{FEFF}'));
    source.text.split('\n').nth(line - 1) == Some(p.text.as_str())
}

fn which() -> impl Strategy<Value = usize> {
    0..SOUND.len()
}

/// Pieces of which damaged cells are made.
fn piece() -> impl Strategy<Value = String> {
    prop_oneof![
        prop::sample::select(vec![
            "",
            ",",
            ";",
            "\"",
            "\n",
            "\r\n",
            "\t",
            "-",
            "–",
            "½",
            "1 1/2",
            "1e999",
            "NaN",
            "-inf",
            "2-Jan",
            "Jan-26",
            "46249",
            "13/13/2026",
            "2026-02-30",
            "########",
            "#REF!",
            "=A1",
            "99999999999999999999",
            "0",
            "-1",
            "1,5",
            "1.200,5",
            "é",
            "茄",
            "\u{202E}",
            "\u{FEFF}",
            "~5",
            "5%",
            "week of ",
            "kale",
            "beans 0-1",
            "[",
            "]",
            "{",
            "}",
            "=",
            "\"\"\"",
            "|",
            "sep=,",
            "# ",
            "\u{0}",
            "'",
            "5'",
            "0000-00-00",
            "T",
            ":",
        ])
        .prop_map(str::to_owned),
        "[ -~]{0,6}",
        any::<char>().prop_map(String::from),
    ]
}

/// Ways of damaging a text.
#[derive(Debug, Clone)]
enum Damage {
    Insert(f64, String),
    Replace(f64, usize, String),
    Cut(f64, usize),
    Double(f64, usize),
    SwapLines(usize, usize),
    Cell(usize, usize, String),
}

fn damage() -> impl Strategy<Value = Damage> {
    prop_oneof![
        (0.0..1.0, piece()).prop_map(|(a, p)| Damage::Insert(a, p)),
        (0.0..1.0, 1usize..12, piece()).prop_map(|(a, n, p)| Damage::Replace(a, n, p)),
        (0.0..1.0, 1usize..40).prop_map(|(a, n)| Damage::Cut(a, n)),
        (0.0..1.0, 1usize..80).prop_map(|(a, n)| Damage::Double(a, n)),
        (0usize..8, 0usize..8).prop_map(|(a, b)| Damage::SwapLines(a, b)),
        (1usize..5, 0usize..10, piece()).prop_map(|(r, c, p)| Damage::Cell(r, c, p)),
    ]
}

fn apply(text: &str, damage: &Damage) -> String {
    let chars: Vec<char> = text.chars().collect();
    let at = |share: f64| ((share * chars.len() as f64) as usize).min(chars.len());
    let part = |a: usize, b: usize| {
        chars[a.min(chars.len())..b.min(chars.len())]
            .iter()
            .collect::<String>()
    };
    let rest = |a: usize| part(a, chars.len());
    match damage {
        Damage::Insert(a, p) => part(0, at(*a)) + p + &rest(at(*a)),
        Damage::Replace(a, n, p) => part(0, at(*a)) + p + &rest(at(*a) + n),
        Damage::Cut(a, n) => part(0, at(*a)) + &rest(at(*a) + n),
        Damage::Double(a, n) => part(0, at(*a) + n) + &rest(at(*a)),
        Damage::SwapLines(a, b) => {
            let mut lines: Vec<&str> = text.lines().collect();
            if *a < lines.len() && *b < lines.len() {
                lines.swap(*a, *b);
            }
            lines.join("\n")
        }
        Damage::Cell(row, column, p) => {
            let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
            if let Some(line) = lines.get_mut(*row) {
                let mut cells: Vec<&str> = line.split(',').collect();
                if let Some(cell) = cells.get_mut(*column) {
                    *cell = p;
                }
                *line = cells.join(",");
            }
            lines.join("\n") + "\n"
        }
    }
}

#[test]
fn the_sound_garden_is_sound() {
    let problems = load_files(&garden()).err().unwrap_or_default();
    assert!(problems.is_empty(), "{}", render_all(&problems, false));
}

proptest! {
    #[test]
    fn random_bytes_as_any_file(file in which(), bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let mut files = garden();
        files.content.insert(SOUND[file].0.to_owned(), bytes);
        check(&files)?;
    }

    #[test]
    fn random_text_as_any_file(file in which(), lines in prop::collection::vec(prop::collection::vec(piece(), 0..8), 0..8)) {
        let mut files = garden();
        let header = SOUND[file].1.lines().next().unwrap_or_default();
        let body: Vec<String> = lines.iter().map(|cells| cells.join(",")).collect();
        files.content.insert(SOUND[file].0.to_owned(), format!("{header}\n{}\n", body.join("\n")).into_bytes());
        check(&files)?;
    }

    #[test]
    fn damaged_files(file in which(), damages in prop::collection::vec(damage(), 1..5)) {
        let mut files = garden();
        let text = damages.iter().fold(SOUND[file].1.to_owned(), |text, d| apply(&text, d));
        files.content.insert(SOUND[file].0.to_owned(), text.into_bytes());
        check(&files)?;
    }

    /// Files as a weather office lays them out, invented and then damaged.
    #[test]
    fn damaged_weather_files(
        layout in prop::sample::select(vec![
            "XX000000001202601TMAX   50  6   61  6-9999     900 X6\nXX000000001202601TMIN  -33  6-9999     11  6   22  6\n",
            "XX000000001,20260101,TMAX,50,,,S,\nXX000000001,20260101,TMIN,-33,,X,S,0700\n",
            "\"STATION\",\"DATE\",\"NAME\",\"TMAX\",\"TMAX_ATTRIBUTES\",\"TMIN\"\n\"X\",\"2026-01-01\",\"A, B\",\"   50\",\",,S\",\"  -33\"\n",
        ]),
        damages in prop::collection::vec(damage(), 0..4),
    ) {
        let mut files = garden();
        let text = damages.iter().fold(layout.to_owned(), |text, d| apply(&text, d));
        files.content.insert("weather.csv".to_owned(), text.into_bytes());
        check(&files)?;
    }

    #[test]
    fn missing_files_and_strange_names(gone in prop::collection::vec(any::<bool>(), SOUND.len()), name in "[a-z ().~-]{0,12}(csv|txt|toml|xlsx)?") {
        let mut files = garden();
        for ((file, _), gone) in SOUND.iter().zip(gone) {
            if gone {
                files.content.remove(*file);
            }
        }
        files.content.entry(name).or_default();
        check(&files)?;
    }

    /// Line ends, separators and a byte-order mark change nothing of what is understood.
    #[test]
    fn dress_does_not_matter(ends in prop::sample::select(vec!["\n", "\r\n", "\r"]), separator in prop::sample::select(vec![",", ";", "\t"]), mark in any::<bool>()) {
        let mut files = garden();
        for (name, text) in SOUND.iter().filter(|(name, _)| name.ends_with("csv")) {
            // The one cell that holds a comma is quoted and keeps it; lists keep their semicolons by being quoted.
            let rows: Vec<String> = text
                .lines()
                .map(|line| {
                    let mut quoted = false;
                    let cells: String = line
                        .chars()
                        .map(|c| {
                            quoted ^= c == '"';
                            if c == ',' && !quoted { '\u{1}' } else { c }
                        })
                        .collect();
                    cells
                        .split('\u{1}')
                        .map(|c| if c.contains(';') { format!("\"{c}\"") } else { c.to_owned() })
                        .collect::<Vec<_>>()
                        .join(separator)
                })
                .collect();
            let body = rows.join(ends) + ends;
            files.content.insert((*name).to_owned(), format!("{}{body}", if mark { "\u{FEFF}" } else { "" }).into_bytes());
        }
        let plain = load_files(&garden()).expect("the garden is sound");
        let dressed = load_files(&files);
        prop_assert!(dressed.is_ok(), "{}", render_all(&dressed.err().unwrap_or_default(), false));
        let dressed = dressed.expect("just checked");
        prop_assert_eq!(plain.plantings, dressed.plantings);
        prop_assert_eq!(plain.beds, dressed.beds);
        prop_assert_eq!(plain.record.picked, dressed.record.picked);
        prop_assert_eq!(plain.products, dressed.products);
        prop_assert_eq!(plain.crops, dressed.crops);
    }
}
