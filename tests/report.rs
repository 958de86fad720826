//! The page and the sheets of `putby report`, read back by a small reader of marked-up text.
//!
//! The reader is stricter than HTML: every tag is closed, every attribute quoted, every `&` begins a reference. What the
//! standard asks beyond that is checked by a validator and a browser in `tests/checks`.

mod common;

use std::collections::BTreeSet;
use std::path::Path;

/// An element, or the text between elements.
#[derive(Debug, Default)]
struct Node {
    name: String,
    attributes: Vec<(String, String)>,
    text: String,
    inside: Vec<Node>,
}

/// Elements that have no end.
const VOID: [&str; 2] = ["meta", "br"];

impl Node {
    fn attribute(&self, name: &str) -> Option<&str> {
        let found = self.attributes.iter().find(|(key, _)| key == name);
        found.map(|(_, value)| value.as_str())
    }
    fn class(&self, name: &str) -> bool {
        self.attribute("class")
            .is_some_and(|all| all.split(' ').any(|one| one == name))
    }
    /// This element and all below it, in order.
    fn all(&self) -> Vec<&Node> {
        let mut found = vec![self];
        found.extend(self.inside.iter().flat_map(Node::all));
        found
    }
    fn named(&self, name: &str) -> Vec<&Node> {
        self.all().into_iter().filter(|n| n.name == name).collect()
    }
    fn words(&self) -> String {
        self.all().iter().map(|n| n.text.as_str()).collect()
    }
}

/// Puts references back into the letters they stand for; any other `&` is a fault.
fn plain(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(at) = rest.find('&') {
        out.push_str(&rest[..at]);
        let end = rest[at..].find(';').expect("a reference ends") + at;
        out.push_str(match &rest[at..=end] {
            "&amp;" => "&",
            "&lt;" => "<",
            "&gt;" => ">",
            "&quot;" => "\"",
            "&apos;" => "'",
            other => panic!("unknown reference {other}"),
        });
        rest = &rest[end + 1..];
    }
    out + rest
}

/// Reads a whole page; panics at the first thing that is not as it should be.
fn read(page: &str) -> Node {
    let body = page
        .strip_prefix("<!DOCTYPE html>\n")
        .expect("it begins as HTML");
    let mut open = vec![Node::default()];
    let mut rest = body;
    while let Some(at) = rest.find('<') {
        let (before, after) = rest.split_at(at);
        let end = after.find('>').expect("a tag ends");
        let tag = &after[1..end];
        rest = &after[end + 1..];
        let parent = open.last_mut().expect("the root stays open");
        assert!(!before.contains('>'), "a bare > in {before:?}");
        parent.inside.push(Node {
            text: plain(before),
            ..Node::default()
        });
        if let Some(name) = tag.strip_prefix('/') {
            let node = open.pop().expect("an open element");
            assert_eq!(node.name, name, "closed out of order");
            open.last_mut()
                .expect("the root stays open")
                .inside
                .push(node);
            continue;
        }
        let (tag, alone) = tag
            .strip_suffix('/')
            .map_or((tag, false), |tag| (tag, true));
        let (name, mut more) = tag.split_once(' ').unwrap_or((tag, ""));
        let mut node = Node {
            name: name.to_owned(),
            ..Node::default()
        };
        while let Some((key, value)) = more.trim_start().split_once("=\"") {
            let (value, left) = value.split_once('"').expect("a quoted value");
            node.attributes.push((key.to_owned(), plain(value)));
            more = left;
        }
        assert_eq!(more.trim(), "", "attributes of {tag:?}");
        if name == "style" {
            let end = rest.find("</style>").expect("the style ends");
            node.text = rest[..end].to_owned();
            rest = &rest[end + "</style>".len()..];
            open.last_mut()
                .expect("the root stays open")
                .inside
                .push(node);
        } else if alone || VOID.contains(&name) {
            open.last_mut()
                .expect("the root stays open")
                .inside
                .push(node);
        } else {
            open.push(node);
        }
    }
    assert_eq!(open.len(), 1, "every element is closed");
    open.remove(0)
}

/// Makes a page in a folder and reads its file.
fn page(folder: &Path, more: &str) -> String {
    let line = format!("report --draws 200 {more} -o made.html");
    let output = common::putby(folder, &common::words(&line));
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{line}: {told}");
    std::fs::read_to_string(folder.join("made.html")).expect("the page is there")
}

/// What holds for page and sheets alike.
fn assert_sound(page: &str) -> Node {
    let root = read(page);
    let count = |name: &str| root.named(name).len();
    for (name, number) in [
        ("html", 1),
        ("h1", 1),
        ("header", 1),
        ("main", 1),
        ("nav", 1),
        ("script", 0),
        ("img", 0),
        ("link", 0),
    ] {
        assert_eq!(count(name), number, "{name}");
    }
    assert_eq!(root.named("html")[0].attribute("lang"), Some("en"));
    assert!(!root.named("title")[0].words().trim().is_empty());
    let policy = root
        .named("meta")
        .into_iter()
        .find(|m| m.attribute("http-equiv") == Some("Content-Security-Policy"))
        .expect("a policy");
    assert_eq!(
        policy.attribute("content"),
        Some("default-src 'none'; style-src 'unsafe-inline'; img-src data:")
    );
    let style = &root.named("style")[0].text;
    assert!(!style.contains("url(") && !style.contains("@import") && !style.contains('<'));

    let mut ids = BTreeSet::new();
    for node in root.all() {
        for (key, value) in &node.attributes {
            let loads = ["src", "srcset", "data", "action", "poster"].contains(&key.as_str());
            assert!(!loads && !key.starts_with("on"), "{} {key}", node.name);
            if key == "href" {
                assert!(value.starts_with('#'), "a link to {value}");
            }
            if key == "id" {
                assert!(ids.insert(value.clone()), "{value} twice");
            }
        }
    }
    for node in root.all() {
        for key in ["href", "aria-labelledby"] {
            if let Some(value) = node.attribute(key) {
                let id = value.trim_start_matches('#');
                assert!(ids.contains(id), "{key} {value} leads nowhere");
            }
        }
    }
    let first = root.named("body")[0]
        .inside
        .iter()
        .find(|n| !n.name.is_empty())
        .expect("a first element");
    assert_eq!(
        (first.name.as_str(), first.attribute("href")),
        ("a", Some("#main"))
    );

    for table in root.named("table") {
        let first = table.inside.iter().find(|n| !n.name.is_empty());
        let caption = first.filter(|n| n.name == "caption").expect("a caption");
        assert!(!caption.words().trim().is_empty());
        assert!(!table.named("thead").is_empty() && !table.named("tbody").is_empty());
        for head in table.named("th") {
            assert!(matches!(head.attribute("scope"), Some("col" | "row")));
            assert!(!head.words().trim().is_empty(), "a heading without words");
        }
        let width = table.named("tr")[0].named("th").len() + table.named("tr")[0].named("td").len();
        for row in table.named("tr") {
            assert_eq!(
                row.named("th").len() + row.named("td").len(),
                width,
                "{}",
                row.words()
            );
        }
    }
    root
}

#[test]
fn the_page_has_charts_told_in_words_and_figures() {
    let folder = tempfile::tempdir().expect("a scratch folder can be made");
    let root = assert_sound(&page(folder.path(), "--sample"));
    let figures = root.named("figure");
    assert!(figures.len() >= 3, "{} charts", figures.len());
    assert_eq!(root.named("svg").len(), 2 * figures.len());
    for figure in figures {
        let drawn = figure.named("svg");
        // One for a desk, one for a phone: there nothing is shrunk, so that small type stays legible.
        for (svg, width) in drawn.iter().zip(["900", "340"]) {
            assert_eq!(svg.attribute("width"), Some(width));
            assert_eq!(svg.attribute("role"), Some("img"));
            for told in [
                svg.attribute("aria-label").unwrap_or(""),
                &svg.named("title")[0].words(),
                &svg.named("desc")[0].words(),
            ] {
                assert!(told.trim().len() > 15, "{told}");
            }
            let sizes = svg.named("text").into_iter().filter_map(|t| {
                let size = t.attribute("font-size")?;
                size.trim_end_matches("px").parse::<f64>().ok()
            });
            // Charts are drawn ten times as large as they are shown.
            let least = sizes.fold(f64::INFINITY, f64::min) / 10.0;
            assert!((11.0..13.0).contains(&least), "{least}");
        }
        let behind = figure.named("details")[0];
        assert!(!behind.named("summary")[0].words().is_empty());
        assert!(behind.named("table")[0].named("tr").len() > 3);
    }
    let sections: Vec<&str> = root
        .named("section")
        .iter()
        .filter_map(|s| s.attribute("id"))
        .collect();
    assert_eq!(
        sections,
        [
            "fortnight",
            "kitchen",
            "pickings",
            "forecast",
            "stores",
            "accuracy",
            "cautions",
            "assumed"
        ]
    );
    let words = root.words();
    for word in [
        "Waiting in the kitchen",
        "Processing days",
        "Sat 18 Jul",
        "frozen beans",
        "USDA",
    ] {
        assert!(words.contains(word), "{word}");
    }
}

#[test]
fn sheets_have_boxes_to_write_in_and_to_tick() {
    let folder = tempfile::tempdir().expect("a scratch folder can be made");
    let root = assert_sound(&page(folder.path(), "--sample --sheets"));
    let sheet = |id: &str| -> &Node {
        let found = root
            .all()
            .into_iter()
            .find(|n| n.attribute("id") == Some(id));
        found
            .filter(|n| n.class("sheet"))
            .unwrap_or_else(|| panic!("no sheet {id}"))
    };
    for id in ["fortnight", "card", "picking", "door", "sowings"] {
        assert!(sheet(id).words().contains("Quillrush Hollow"), "{id}");
    }
    let picking = sheet("picking").named("tbody")[0];
    let rows = picking.named("tr");
    let (named, blank): (Vec<&Node>, Vec<&Node>) =
        rows.iter().partition(|r| !r.named("th").is_empty());
    assert!(
        named
            .iter()
            .any(|r| r.words().contains("bush beans 1 barn"))
    );
    assert!(named.len() >= 6 && blank.len() >= 4);
    for row in named {
        let empty = row
            .named("td")
            .iter()
            .filter(|c| c.words().is_empty())
            .count();
        assert_eq!(empty, 7, "a box a day");
    }
    // 5½ bags of beans are there, two a box; 55 are wanted.
    let door = sheet("door");
    let beans = door
        .named("tr")
        .into_iter()
        .find(|r| r.words().starts_with("frozen beans"))
        .expect("beans are a goal");
    let boxes = beans.all().into_iter().filter(|n| n.class("box")).count();
    let ticked = beans
        .all()
        .into_iter()
        .filter(|n| n.class("box") && n.words() == "×")
        .count();
    assert_eq!((boxes, ticked), (28, 2));
    assert!(beans.words().contains("30 Aug 2025"));
}

/// Names with everything that means something to HTML, SVG, CSS or a reader of them.
#[test]
fn hostile_names_are_shown_as_text() {
    let names = [
        "<script>alert(1)</script>",
        "\"><svg onload=alert(1)>",
        "' onmouseover='alert(1)",
        "</title></style></svg><img src=x onerror=alert(1)>",
        "&lt;b&gt; & &amp; `x`",
        "-->]]><!--",
    ];
    let folder = tempfile::tempdir().expect("a scratch folder can be made");
    let write = |name: &str, text: &str| {
        std::fs::write(folder.path().join(name), text).expect("a scratch file can be written");
    };
    write(
        "garden.toml",
        "as_of = \"2026-07-20\"\n[site]\nname = \"<script>alert(1)</script>\"\nlatitude_deg = 38\n[frost]\n\
         last_spring = \"04-20\"\nfirst_fall = \"10-18\"\n[kitchen]\nhours = { sat = 4 }\n",
    );
    let mut rows = "planting,bed,crop,sown,row_ft\n".to_owned();
    for (i, name) in names.iter().enumerate() {
        let quoted = name.replace('"', "\"\"");
        rows.push_str(&format!(
            "\"{quoted}\",\"bed {i} {quoted}\",bush bean,2026-05-1{i},20\n"
        ));
    }
    write("plantings.csv", &rows);
    for more in ["", "--sheets"] {
        let root = assert_sound(&page(folder.path(), more));
        let words = root.words();
        // Backticks are the mark of commands.
        for name in names {
            let shown = name.replace('`', "");
            assert!(words.contains(name) || words.contains(&shown), "{name}");
        }
        if more.is_empty() {
            let drawn: String = root.named("svg").iter().map(|s| s.words()).collect();
            assert!(drawn.contains(names[0]), "inside a chart too");
        }
    }
}

#[test]
fn equal_inputs_give_equal_bytes() {
    let folder = tempfile::tempdir().expect("a scratch folder can be made");
    let made = |threads: &str| {
        let output = std::process::Command::new(env!("CARGO_BIN_EXE_putby"))
            .args(["report", "--sample", "--draws", "200"])
            .env("RAYON_NUM_THREADS", threads)
            .current_dir(folder.path())
            .output()
            .expect("the program can be started");
        assert!(output.status.success());
        output.stdout
    };
    assert!(made("1") == made("3"), "threads change the page");
}

#[test]
fn what_does_not_go_is_said() {
    let folder = tempfile::tempdir().expect("a scratch folder can be made");
    for (line, words) in [
        ("report --sample --format json", "page for people"),
        ("report --sample --chart x.svg", "has no chart"),
    ] {
        let output = common::putby(folder.path(), &common::words(line));
        assert_eq!(output.status.code(), Some(2), "{line}");
        assert!(
            String::from_utf8_lossy(&output.stderr).contains(words),
            "{line}"
        );
    }
}
