//! `nde rules` and what rules ask beside a list, from outside.

mod run;

use run::Ran;
use std::fs;
use std::path::Path;

fn nde(dir: &Path, words: &[&str]) -> Ran {
    run::output(dir, words).into()
}

#[test]
fn a_rule_file_is_started_filled_in_checked_and_used() {
    let dir = tempfile::tempdir().expect("a folder");
    let at = dir.path();
    let made = nde(at, &["rules", "new", "ours.toml"]);
    assert_eq!((made.code, made.out.as_str()), (0, ""), "{}", made.talk);
    assert!(made.talk.contains("nde rules check ours.toml"), "{}", made.talk);
    let text = fs::read_to_string(at.join("ours.toml")).expect("it was written");
    // The same text goes to standard output without a file.
    assert_eq!(nde(at, &["rules", "new"]).out, text);
    // It says what to fill in until that is done.
    let checked = nde(at, &["rules", "check", "ours.toml"]);
    assert_eq!(checked.code, 2);
    assert!(checked.talk.contains("ours.toml:15:21: `?` is not filled in"), "{}", checked.talk);
    fs::write(at.join("ours.toml"), text.replace('?', "3")).expect("written");
    assert_eq!(nde(at, &["rules", "check", "ours.toml"]).code, 0);
    // It is never written over.
    let again = nde(at, &["rules", "new", "ours.toml"]);
    assert_eq!(again.code, 2);
    assert!(again.talk.contains("is there already and is left as it is"), "{}", again.talk);
    assert!(fs::read_to_string(at.join("ours.toml")).expect("there").contains("> 3"));
    fs::write(at.join("list.csv"), "id,length_mm,width_mm\na,3,1\n").expect("written");
    assert_eq!(nde(at, &["evaluate", "list.csv", "--rules", "ours.toml"]).code, 0);
    let unknown = nde(at, &["rules", "new", "x.toml", "--from", "weld-vessel-si"]);
    assert_eq!(unknown.code, 2);
    assert!(unknown.talk.contains("is used by its id and needs no file"), "{}", unknown.talk);
    assert!(!at.join("x.toml").exists());
}

#[test]
fn a_set_says_what_a_photo_must_resolve_and_what_must_be_known() {
    let dir = tempfile::tempdir().expect("a folder");
    let vessel = nde(dir.path(), &["rules", "needs", "weld-vessel-si"]);
    // 1.5 mm, a third of it wide, four pixels across that.
    assert!(
        vessel.out.contains("at least 8.0 pixels a millimetre (0.125 mm a pixel)"),
        "{}",
        vessel.out
    );
    assert!(vessel.out.contains("x_mm,y_mm,angle_deg"));
    let girth = nde(dir.path(), &["rules", "needs", "weld-pipeline-girth-us"]);
    for word in ["--thickness 12mm", "--weld-axis 0", "--weld-length 400mm", "incomplete fusion"] {
        assert!(girth.out.contains(word), "{word}: {}", girth.out);
    }
    let none = nde(dir.path(), &["rules", "needs", "weld-structural-visual"]);
    assert!(none.out.contains("No verdict is given"), "{}", none.out);
}

#[test]
fn the_schema_is_json_and_names_every_kind_of_rule() {
    let dir = tempfile::tempdir().expect("a folder");
    let schema = nde(dir.path(), &["schema", "rules"]);
    let json: serde_json::Value = serde_json::from_str(&schema.out).expect("JSON");
    let kinds = &json["properties"]["reject"]["items"]["properties"]["kind"]["enum"];
    assert_eq!(kinds.as_array().map(Vec::len), Some(9));
}

#[test]
fn thickness_and_weld_come_from_the_command_line_or_are_asked_for() {
    let dir = tempfile::tempdir().expect("a folder");
    let at = dir.path();
    let list = "id,length_mm,width_mm,x_mm,y_mm,angle_deg,label\n\
                a,20,2,0,0,0,incomplete fusion\nb,5.1,0.5,300,0,0,incomplete fusion\nc,2.5,1,50,0,0,pore\n";
    fs::write(at.join("weld.csv"), list).expect("written");
    let run = |more: &[&str]| {
        nde(at, &[&["evaluate", "weld.csv", "--rules", "weld-pipeline-girth-si"], more].concat())
    };
    let asked = run(&[]);
    assert_eq!(asked.code, 1, "{}", asked.talk);
    assert!(asked.out.contains("verdict: review"), "{}", asked.out);
    for flag in ["--thickness 12mm", "--weld-axis 0", "--weld-length 400mm"] {
        assert!(asked.out.contains(flag), "{flag}: {}", asked.out);
    }
    // Across the weld both stand at one place: 25.1 mm in 300 mm; so they do at 300 mm along it.
    let known = ["--thickness", "1/2in", "--weld-length", "400 mm", "--weld-axis"];
    let rejected = run(&[&known[..], &["-90"]].concat());
    assert!(
        rejected.out.contains("25.1 mm at the worst place of any 300 mm of weld"),
        "{}",
        rejected.out
    );
    assert!(rejected.out.contains("thickness of the part 12.7 mm"), "{}", rejected.out);
    let turned = run(&[&known[..3], &["2000mm"], &known[4..], &["0"]].concat());
    assert!(turned.out.contains("verdict: reject"), "{}", turned.out);
    fs::write(at.join("weld.csv"), list.replace("300,0,0", "300.000001,0,0")).expect("written");
    let apart = run(&[&known[..3], &["2000mm"], &known[4..], &["0"]].concat());
    assert_eq!((apart.code, apart.out.contains("verdict: accept")), (0, true), "{}", apart.out);
    // Wrong words are refused with the remedy; without criteria the flags mean nothing.
    let bare = run(&["--thickness", "12"]);
    assert!(
        bare.code == 2 && bare.talk.contains("write it such as 12mm or 1/2in"),
        "{}",
        bare.talk
    );
    assert_eq!(nde(at, &["evaluate", "weld.csv", "--thickness", "12mm"]).code, 2);
}
