//! The page of `nde pick`, in a real browser where one is installed.

use std::path::{Path, PathBuf};
use std::process::Command;

/// A browser that can be driven without a screen; absent on machines without one.
fn browser() -> Option<PathBuf> {
    let names = ["chromium", "chromium-browser", "google-chrome", "chrome"];
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path).flat_map(|dir| names.map(|n| dir.join(n))).find(|p| p.is_file())
}

fn page(dir: &Path, more: &[&str]) -> std::process::Output {
    Command::new(env!("CARGO_BIN_EXE_nde"))
        .arg("pick")
        .args(more)
        .current_dir(dir)
        .output()
        .expect("it starts")
}

fn photo(dir: &Path) {
    let picture = image::RgbImage::from_fn(800, 600, |x, y| {
        image::Rgb([x, y, 480].map(|v| u8::try_from(v / 4).expect("below 256")))
    });
    picture.save(dir.join("toggle.png")).expect("it can be written");
}

/// What the command would be given after clicking as the page's own test does, and whether it takes it.
#[test]
fn clicks_become_options_that_the_command_takes() {
    let dir = tempfile::tempdir().unwrap();
    photo(dir.path());
    let made = page(dir.path(), &["toggle.png"]);
    assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
    let file = dir.path().join("toggle.pick.html");
    assert!(file.is_file());
    let Some(browser) = browser() else {
        println!("no browser is installed: the page was written and not opened");
        return;
    };
    let output = Command::new(browser)
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--virtual-time-budget=8000"])
        .arg(format!("--user-data-dir={}", dir.path().join("profile").display()))
        .args(["--window-size=900,700", "--dump-dom"])
        .arg(format!("file://{}#selftest", file.display()))
        .output()
        .expect("the browser starts");
    let dom = String::from_utf8_lossy(&output.stdout);
    assert!(dom.contains("data-selftest=\"done\""), "{}", String::from_utf8_lossy(&output.stderr));
    let shown = dom.split("<pre id=\"text\"").nth(1).and_then(|t| t.split('>').nth(1));
    let shown = shown.and_then(|t| t.split("</pre").next()).expect("the text");
    assert_eq!(
        shown.trim_end_matches("</pre"),
        "--scale \"points:200,300,600,300=50mm\" --scale \"points:200,312,600,312=50mm\" \
         --region \"80,60 720,60 720,540\" \
         --scale \"ticks:0.5mm@80,480 480,480 480,570\""
    );
    // The outline of a rule is understood, too; none lies in this photo.
    let (shown, rule) = shown.rsplit_once(" --scale").expect("the rule stands last");
    let asked = rule.trim().trim_matches('"');
    let refused = Command::new(env!("CARGO_BIN_EXE_nde"))
        .args(["measure", "toggle.png", "--scale", asked])
        .current_dir(dir.path())
        .output()
        .expect("it starts");
    let said = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(refused.status.code() == Some(2) && said.contains("rule"), "{said}");
    // Nothing red is in the region, and the scale is taken: 50 mm over 400 px.
    let words: Vec<&str> = shown.split('"').map(str::trim).filter(|w| !w.is_empty()).collect();
    let output = Command::new(env!("CARGO_BIN_EXE_nde"))
        .args(["measure", "toggle.png", "--format", "json"])
        .args(&words)
        .current_dir(dir.path())
        .output()
        .expect("it starts");
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let pitch = json["cases"][0]["picture"]["resolution"]["pitch_mm"].as_f64().unwrap();
    assert!((pitch - 0.125).abs() < 1e-9, "{pitch}");
}

#[test]
fn the_photo_is_never_written_over() {
    let dir = tempfile::tempdir().unwrap();
    photo(dir.path());
    std::fs::copy(dir.path().join("toggle.png"), dir.path().join("odd.html")).unwrap();
    for (name, fact) in
        [("toggle.png", "does not end in .html"), ("odd.html", "write over the photo")]
    {
        let before = std::fs::read(dir.path().join(name)).unwrap();
        let refused = page(dir.path(), &[name, "--out", name]);
        assert_eq!(refused.status.code(), Some(2));
        let said = String::from_utf8_lossy(&refused.stderr).into_owned();
        assert!(said.contains(fact), "{said}");
        assert!(std::fs::read(dir.path().join(name)).unwrap() == before);
    }
    let missing = page(dir.path(), &["nothing.jpg"]);
    assert_eq!(missing.status.code(), Some(2));
}
