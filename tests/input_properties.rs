//! Whatever stands in a garden's files, reading them ends with a garden or with problems, never with a panic;
//! and every problem points into the file it names.

mod every_reader;

use every_reader::{SOUND, check, garden, with};
use proptest::prelude::*;
use putby::input::load_files;
use putby::input::render::render_all;

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
        check(&with(SOUND[file].0, &bytes));
    }

    #[test]
    fn random_text_as_any_file(file in which(), lines in prop::collection::vec(prop::collection::vec(piece(), 0..8), 0..8)) {
        let mut files = garden();
        let header = SOUND[file].1.lines().next().unwrap_or_default();
        let body: Vec<String> = lines.iter().map(|cells| cells.join(",")).collect();
        files.content.insert(SOUND[file].0.to_owned(), format!("{header}\n{}\n", body.join("\n")).into_bytes());
        check(&files);
    }

    #[test]
    fn damaged_files(file in which(), damages in prop::collection::vec(damage(), 1..5)) {
        let mut files = garden();
        let text = damages.iter().fold(SOUND[file].1.to_owned(), |text, d| apply(&text, d));
        files.content.insert(SOUND[file].0.to_owned(), text.into_bytes());
        check(&files);
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
        check(&files);
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
        check(&files);
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
