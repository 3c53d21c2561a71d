//! The report in a real browser without a window, where one is installed: `chromium`,
//! `chromium-browser`, or what `NDE_BROWSER` names. Without one this says so and checks nothing.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn browser() -> Option<PathBuf> {
    let named = std::env::var_os("NDE_BROWSER").map(PathBuf::from);
    let known = ["chromium", "chromium-browser"].map(PathBuf::from);
    named.into_iter().chain(known).find(|name| {
        Command::new(name).arg("--version").output().is_ok_and(|ran| ran.status.success())
    })
}

/// The page as the browser sees it after its scripts ran.
fn seen(browser: &Path, page: &Path, home: &Path) -> String {
    let ran = Command::new(browser)
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--virtual-time-budget=4000"])
        .arg(format!("--user-data-dir={}", home.display()))
        .arg("--dump-dom")
        .arg(format!("file://{}", page.display()))
        .output()
        .expect("the browser starts");
    String::from_utf8(ran.stdout).expect("UTF-8")
}

fn paint(path: &Path) {
    let mut picture = image::RgbImage::from_pixel(320, 240, image::Rgb([226, 226, 222]));
    for (x0, y0, long) in [(60, 50, 60), (150, 120, 8)] {
        for (x, y) in (x0..x0 + long).flat_map(|x| (y0..y0 + 6).map(move |y| (x, y))) {
            picture.put_pixel(x, y, image::Rgb([190, 40, 60]));
        }
    }
    picture.save(path).expect("it can be written");
}

/// Keys pressed and words typed as a person would.
const PERSON: &str = r##"<script>
const press = (key) => document.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
const type = (field, text) => { field.value = text; field.dispatchEvent(new Event("input", { bubbles: true })); };
type(document.querySelector("#desk [name=by]"), "J.R.");
press("j"); press("n"); press("Enter");
const field = document.activeElement;
type(field, "=edge of the weld, \"as drawn\"");
field.blur();
press("j"); press("r");
type(document.querySelectorAll(".calls [name=own_length_mm]")[1], "0,9");
type(document.querySelectorAll(".calls [name=own_width_mm]")[1], "wide");
const out = document.createElement("pre");
out.id = "out";
out.textContent = window.ndeCalls.csv();
document.body.append(out);
</script></body>"##;

#[test]
fn calls_are_made_by_keyboard_and_come_out_as_a_list() {
    let Some(browser) = browser() else {
        println!("no browser found: the review page was not checked; set NDE_BROWSER to one");
        assert!(std::env::var_os("NDE_ALL_TOOLS").is_none(), "NDE_ALL_TOOLS asks for a browser");
        return;
    };
    let dir = tempfile::tempdir().unwrap();
    paint(&dir.path().join("=part <b>.png"));
    let ran = Command::new(env!("CARGO_BIN_EXE_nde"))
        .args(["evaluate", "=part <b>.png", "--scale", "pitch:0.1mm", "--limit", "linear=3mm"])
        .args(["--out", "out", "-q"])
        .current_dir(&dir)
        .output()
        .unwrap();
    assert_eq!(ran.status.code(), Some(1), "{}", String::from_utf8_lossy(&ran.stderr));
    let page = dir.path().join("out/report.html");
    let home = dir.path().join("home");

    // As it is handed over: its own script runs under its own policy.
    let dom = seen(&browser, &page, &home);
    assert!(dom.contains("0 of 2 on this page called"), "{}", &dom[dom.len() - 2000..]);

    // A script that is not the page's own is refused.
    let html = fs::read_to_string(&page).unwrap();
    let foreign = dir.path().join("foreign.html");
    fs::write(&foreign, html.replace("</body>", PERSON)).unwrap();
    assert!(!seen(&browser, &foreign, &home).contains("id=\"out\""));

    // With the policy taken off, a person's keys are played.
    let (before, rest) = html.split_once("<meta http-equiv=\"Content-Security-Policy\"").unwrap();
    let after = rest.split_once(">\n").unwrap().1;
    let played = dir.path().join("played.html");
    fs::write(&played, format!("{before}{}", after.replace("</body>", PERSON))).unwrap();
    let dom = seen(&browser, &played, &home);
    let out = dom.split("<pre id=\"out\">").nth(1).and_then(|r| r.split("</pre>").next()).unwrap();
    let csv = out.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    assert_eq!(
        reader.headers().unwrap().iter().collect::<Vec<_>>().join(","),
        "photo,id,relevance,label,reason,by,when,own_length_mm,own_width_mm,x_mm,y_mm,x_px,y_px"
    );
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.unwrap()).collect();
    assert_eq!(rows.len(), 2, "{csv}");
    let cells = |n: usize, of: std::ops::Range<usize>| {
        rows[n].iter().skip(of.start).take(of.len()).collect::<Vec<_>>()
    };
    assert_eq!(
        cells(0, 0..6),
        ["'=part <b>.png", "1", "non-relevant", "", "'=edge of the weld, \"as drawn\"", "J.R."]
    );
    assert_eq!(cells(1, 1..4), ["2", "relevant", ""]);
    assert_eq!(cells(1, 7..9), ["0.9", ""], "a decimal comma is read, a word is not");
    assert!(rows[1][6].len() == 25 && rows[1][6].contains('T'), "{}", &rows[1][6]);
    let listed = fs::read_to_string(dir.path().join("out/indications.csv")).unwrap();
    let place = format!("{},{}", &rows[0][11], &rows[0][12]);
    assert!(listed.contains(&place), "{place} in {listed}");

    // And back: what was called in the page stands beside the same measurement.
    fs::write(dir.path().join("calls.csv"), &csv).unwrap();
    let ran = Command::new(env!("CARGO_BIN_EXE_nde"))
        .args(["evaluate", "=part <b>.png", "--scale", "pitch:0.1mm", "--limit", "linear=3mm"])
        .args(["--calls", "calls.csv", "--out", "called", "-q"])
        .current_dir(&dir)
        .output()
        .unwrap();
    let table = String::from_utf8_lossy(&ran.stdout);
    assert_eq!(ran.status.code(), Some(0), "{table}{}", String::from_utf8_lossy(&ran.stderr));
    assert!(table.contains("verdict: accept (measured, without any call: reject)"), "{table}");
    let mut reader = csv::Reader::from_path(dir.path().join("called/indications.csv")).unwrap();
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.unwrap()).collect();
    let heads = reader.headers().unwrap().clone();
    let cell = |n: usize, name: &str| {
        rows[n][heads.iter().position(|head| head == name).unwrap()].to_owned()
    };
    assert_eq!(cell(0, "relevance"), "non-relevant");
    assert_eq!(cell(0, "call_reason"), "'=edge of the weld, \"as drawn\"");
    assert_eq!(
        (cell(1, "relevance"), cell(1, "own_length_mm")),
        ("relevant".into(), "0.9000".into())
    );
}
