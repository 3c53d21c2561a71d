//! The report's pages as a strict parser, a reader of the screen aloud, and weak eyes find them.

use html5ever::driver::ParseOpts;
use html5ever::tendril::TendrilSink as _;
use html5ever::tokenizer::TokenizerOpts;
use html5ever::tree_builder::TreeBuilderOpts;
use markup5ever_rcdom::{Handle, NodeData, RcDom};
use std::collections::{BTreeMap, HashSet};
use std::fs;
use std::path::Path;
use std::process::Command;

fn nde(dir: &Path, words: &[&str]) -> (i32, String) {
    let ran = Command::new(env!("CARGO_BIN_EXE_nde"))
        .args(words)
        .current_dir(dir)
        .output()
        .expect("it starts");
    let talk = String::from_utf8_lossy(&ran.stderr).into_owned();
    (ran.status.code().expect("it ends by itself"), talk)
}

fn parsed(html: &str) -> RcDom {
    let options = ParseOpts {
        tokenizer: TokenizerOpts { exact_errors: true, ..TokenizerOpts::default() },
        tree_builder: TreeBuilderOpts { exact_errors: true, ..TreeBuilderOpts::default() },
    };
    html5ever::parse_document(RcDom::default(), options).one(html)
}

/// One element: its name, its attributes, its texts.
struct Element {
    name: String,
    attributes: BTreeMap<String, String>,
    text: String,
    above: Vec<String>,
}

fn elements(dom: &RcDom) -> Vec<Element> {
    fn text(node: &Handle, all: &mut String) {
        if let NodeData::Text { contents } = &node.data {
            all.push_str(&contents.borrow());
        }
        node.children.borrow().iter().for_each(|child| text(child, all));
    }
    fn walk(node: &Handle, above: &mut Vec<String>, all: &mut Vec<Element>) {
        let mut named = false;
        if let NodeData::Element { name, attrs, .. } = &node.data {
            let attributes = attrs.borrow();
            let attributes = attributes
                .iter()
                .map(|one| (one.name.local.to_string(), one.value.to_string()))
                .collect();
            let mut inside = String::new();
            text(node, &mut inside);
            let name = name.local.to_string();
            all.push(Element {
                name: name.clone(),
                attributes,
                text: inside,
                above: above.clone(),
            });
            above.push(name);
            named = true;
        }
        node.children.borrow().iter().for_each(|child| walk(child, above, all));
        if named {
            above.pop();
        }
    }
    let mut all = Vec::new();
    walk(&dom.document, &mut Vec::new(), &mut all);
    all
}

/// Everything that is wrong with a page.
fn faults(html: &str) -> Vec<String> {
    let dom = parsed(html);
    let mut faults: Vec<String> =
        dom.errors.borrow().iter().map(|error| format!("does not parse: {error}")).collect();
    let all = elements(&dom);
    let mut ids = HashSet::new();
    let ids_there: HashSet<&str> =
        all.iter().filter_map(|e| e.attributes.get("id")).map(String::as_str).collect();
    let mut heading = 0;
    for e in &all {
        let has = |name: &str| e.attributes.get(name).map(String::as_str);
        if let Some(id) = has("id")
            && !ids.insert(id)
        {
            faults.push(format!("the id {id} stands twice"));
        }
        if e.name == "img" && has("alt").is_none_or(|alt| alt.trim().is_empty()) {
            faults.push("a picture without a text in its place".to_owned());
        }
        if e.name == "svg"
            && has("role") == Some("img")
            && has("aria-label").is_none_or(str::is_empty)
        {
            faults.push("a drawing without a name".to_owned());
        }
        if e.name == "th" && has("scope").is_none() {
            faults.push(format!("a heading cell without scope: {}", e.text));
        }
        if e.name == "table" && !e.above.iter().any(|name| name == "section") {
            faults.push("a table outside any section".to_owned());
        }
        if let Some(id) = has("aria-labelledby")
            && !ids_there.contains(id)
        {
            faults.push(format!("aria-labelledby names {id}, which is not there"));
        }
        if let Some(id) = has("href").and_then(|link| link.strip_prefix('#'))
            && !ids_there.contains(id)
        {
            faults.push(format!("a link leads to {id}, which is not there"));
        }
        if let [b'h', level @ b'1'..=b'6'] = e.name.as_bytes() {
            let level = level - b'0';
            if level > heading + 1 {
                faults.push(format!("{} follows a heading of level {heading}", e.name));
            }
            heading = level;
        }
        if e.name == "section" && has("aria-labelledby").or(has("aria-label")).is_none() {
            faults.push("a section without a name".to_owned());
        }
        for (name, value) in &e.attributes {
            let leads = ["src", "href", "srcset", "action", "poster", "data", "xlink:href"];
            let inside = value.starts_with("data:") || value.starts_with('#');
            let beside = e.name == "a" && !value.contains(':') && !value.starts_with("//");
            if leads.contains(&name.as_str()) && !inside && !beside {
                faults.push(format!("<{} {name}> leads outside: {value}", e.name));
            }
            if name.starts_with("on") {
                faults.push(format!("<{} {name}>: a script in an attribute", e.name));
            }
            if name == "style" && value.contains("url(") {
                faults.push(format!("style leads outside: {value}"));
            }
        }
        let banned = ["link", "iframe", "object", "embed", "base", "form", "audio", "video"];
        if banned.contains(&e.name.as_str()) {
            faults.push(format!("<{}> has no place here", e.name));
        }
        if e.name == "style" && (e.text.contains("@import") || e.text.contains("url(")) {
            faults.push("the style fetches something".to_owned());
        }
        if e.name == "script" && (e.text.contains("fetch(") || e.text.contains("XMLHttpRequest")) {
            faults.push("the script fetches something".to_owned());
        }
    }
    // A drawing may have a title of its own.
    let drawn = |e: &Element| e.above.iter().any(|name| name == "svg");
    let count = |name: &str| all.iter().filter(|e| e.name == name && !drawn(e)).count();
    for name in ["html", "title", "main", "h1", "script", "style"] {
        if count(name) != 1 {
            faults.push(format!("{} times <{name}>", count(name)));
        }
    }
    if all.iter().any(|e| e.name == "html" && e.attributes.get("lang").is_none_or(|l| l != "en")) {
        faults.push("the language is not said".to_owned());
    }
    faults
}

#[test]
fn the_checks_find_what_is_wrong() {
    let page = |inside: &str| {
        format!(
            "<!DOCTYPE html><html lang=\"en\"><head><meta charset=\"utf-8\"><title>t</title><style></style></head><body><main><h1>h</h1>{inside}</main><script></script></body></html>"
        )
    };
    assert_eq!(faults(&page("<p>a</p>")), Vec::<String>::new());
    for (inside, fault) in [
        ("<p>a</b></p>", "does not parse"),
        ("<p id=\"a\"></p><p id=\"a\"></p>", "stands twice"),
        ("<img src=\"data:x\">", "without a text"),
        (
            "<section aria-label=\"a\"><table><tbody><tr><th>a</th></tr></tbody></table></section>",
            "without scope",
        ),
        ("<h3>a</h3>", "follows a heading"),
        ("<img alt=\"a\" src=\"http://x/\">", "leads outside"),
        ("<p onclick=\"a()\">a</p>", "a script in an attribute"),
        ("<a href=\"#nowhere\">a</a>", "which is not there"),
    ] {
        let found = faults(&page(inside));
        assert!(found.iter().any(|text| text.contains(fault)), "{inside}: {found:?}");
    }
}

fn fixtures() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures")
}

/// Whole report, overview, page of one photo of many, typed list, sheet and calls: every page there is.
#[test]
fn every_page_is_without_fault() {
    let dir = tempfile::tempdir().unwrap();
    let at = dir.path();
    fs::create_dir_all(at.join("job")).unwrap();
    fs::copy(fixtures().join("photos/chainplate-starboard.jpg"), at.join("job/a b.jpg")).unwrap();
    fs::write(
        at.join("calls.csv"),
        "photo,id,relevance,reason\na b.jpg,1,false,lint\na b.jpg,2,non-relevant,<thread> root\n",
    )
    .unwrap();
    let (code, talk) = nde(
        at,
        &[
            "sheet",
            "new",
            "job/sheet.toml",
            "--part",
            "eye & <fork>",
            "--technique",
            "tech-shop-practice",
            "--rules",
            "weld-vessel-si",
            "--zone",
            "upper=a b.jpg",
            "--zone",
            "lower",
        ],
    );
    assert_eq!(code, 0, "{talk}");
    let (code, talk) = nde(at, &["evaluate", "job", "--calls", "calls.csv", "--out", "sheet"]);
    assert_eq!(code, 1, "{talk}");
    let list = fixtures().join("lists/chainplates-by-hand.csv");
    let (code, talk) = nde(
        at,
        &["evaluate", &list.display().to_string(), "--limit", "linear=3mm", "--out", "list"],
    );
    assert_eq!(code, 0, "{talk}");
    fs::create_dir(at.join("many")).unwrap();
    let mut picture = image::RgbImage::from_pixel(320, 240, image::Rgb([226, 226, 222]));
    for (x, y) in (60..120).flat_map(|x| (50..56).map(move |y| (x, y))) {
        picture.put_pixel(x, y, image::Rgb([190, 40, 60]));
    }
    for n in 0..26 {
        picture.save(at.join(format!("many/{n}.png"))).unwrap();
    }
    fs::write(at.join("many/bad.png"), "x").unwrap();
    let (code, talk) = nde(
        at,
        &["evaluate", "many", "--scale", "pitch:0.1mm", "--limit", "linear=3mm", "--out", "pages"],
    );
    assert_eq!(code, 2, "{talk}");
    let (code, talk) =
        nde(at, &["evaluate", "many", "--match", "1*", "--scale", "pitch:0.1mm", "--out", "sizes"]);
    assert_eq!(code, 0, "{talk}");
    let pages = [
        "sheet/report.html",
        "list/report.html",
        "pages/report.html",
        "pages/reports/7.html",
        "sizes/report.html",
    ];
    for page in pages {
        let html = fs::read_to_string(at.join(page)).unwrap();
        assert_eq!(faults(&html), Vec::<String>::new(), "{page}");
    }
    // The pages of the whole report hold what is checked above: pictures, drawings, head cells.
    let html = fs::read_to_string(at.join("sheet/report.html")).unwrap();
    let all = elements(&parsed(&html));
    let count = |name: &str| all.iter().filter(|e| e.name == name).count();
    assert!(
        count("img") == 1 && count("svg") > 5 && count("th") > 40,
        "{} {} {}",
        count("img"),
        count("svg"),
        count("th")
    );
}

/// Relative luminance and contrast as in the web's accessibility guidelines (WCAG 2.1, from memory).
fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
    let light = |rgb: [u8; 3]| {
        let [r, g, b] = rgb.map(|v| {
            let v = f64::from(v) / 255.0;
            if v <= 0.03928 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        });
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    let (a, b) = (light(a), light(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

fn colour(text: &str) -> Option<[u8; 3]> {
    let hex = text.strip_prefix('#')?;
    let digit = |at: usize| u8::from_str_radix(hex.get(at..=at)?, 16).ok();
    match hex.len() {
        3 => Some([digit(0)? * 17, digit(1)? * 17, digit(2)? * 17]),
        6 => {
            let pair = |at: usize| u8::from_str_radix(hex.get(at..at + 2)?, 16).ok();
            Some([pair(0)?, pair(2)?, pair(4)?])
        }
        _ => None,
    }
}

/// Every colour that text has, against every ground that it stands on: 4.5 to 1 and more.
#[test]
fn text_stands_out_from_its_ground() {
    assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
    assert!(contrast([119; 3], [255; 3]) < 4.5, "a grey known to be too weak");
    let style = include_str!("../src/report/style.css");
    let named: BTreeMap<&str, [u8; 3]> = style
        .lines()
        .next()
        .unwrap()
        .split(['{', ';'])
        .filter_map(|part| part.trim().split_once(": "))
        .filter_map(|(name, value)| Some((name, colour(value)?)))
        .collect();
    let read = |value: &str| {
        let value = value.trim();
        let name = value.strip_prefix("var(").and_then(|v| v.strip_suffix(')'));
        name.map_or_else(|| colour(value), |name| named.get(name).copied())
    };
    let (mut grounds, mut pairs) = (vec![[255; 3]], 0);
    let rules: Vec<(&str, Vec<(&str, &str)>)> = style
        .split('}')
        .filter_map(|rule| rule.rsplit_once('{'))
        .map(|(who, inside)| {
            (who.trim(), inside.split(';').filter_map(|d| d.trim().split_once(':')).collect())
        })
        .collect();
    let of = |rule: &[(&str, &str)], names: &[&str]| {
        rule.iter().find(|(name, _)| names.contains(name)).and_then(|(_, value)| read(value))
    };
    let grounds_of = ["background", "background-color"];
    for (_, rule) in &rules {
        // Grounds of their own colour of letters are looked at as a pair.
        if let (Some(ground), None) = (of(rule, &grounds_of), of(rule, &["color"])) {
            grounds.push(ground);
        }
    }
    for (who, rule) in &rules {
        let Some(ink) = of(rule, &["color"]) else { continue };
        let own = of(rule, &grounds_of);
        for ground in own.map_or(grounds.clone(), |own| vec![own]) {
            pairs += 1;
            let found = contrast(ink, ground);
            assert!(found >= 4.5, "{who}: {ink:?} on {ground:?} is {found:.2} : 1");
        }
    }
    assert!(pairs >= 8 && grounds.len() >= 2, "{pairs} pairs on {} grounds", grounds.len());
}
