use super::*;

const HEAD: &str = "id = \"x\"\ntitle = \"x\"\nunit = \"mm\"\n";
const RULE: &str = "[[reject]]\nname = \"long\"\nkind = \"length\"\nlength = \"> 3 mm\"\n";

fn fault(text: &str) -> (usize, usize, String) {
    let error = read(text).unwrap_err();
    assert!(!error.fact().is_empty() && !error.remedy().is_empty());
    (error.line(), error.column(), error.to_string())
}

#[test]
fn faults_point_at_line_and_column() {
    let (line, column, text) = fault(&format!("{HEAD}{RULE}colour = \"red\"\n"));
    assert_eq!((line, column), (8, 1), "{text}");
    assert!(text.contains("`colour` is not known"), "{text}");
    let (line, column, text) = fault(&format!("{HEAD}{}", RULE.replace("3 mm", "1/8 in")));
    assert_eq!((line, column), (7, 10), "{text}");
    assert!(text.contains("never convert"), "{text}");
    let (line, _, text) = fault(&format!("{HEAD}[linear\n"));
    assert_eq!(line, 4, "{text}");
}

#[test]
fn a_slip_is_answered_with_the_word_that_was_meant() {
    for (from, to, remedy) in [
        ("title", "titel", "write `title`"),
        ("title", "Title", "write `title`"),
        ("\"length\"", "\"lenght\"", "write `length`"),
        ("length = \"> 3 mm\"", "length = \"\u{2265} 3 mm\"", "write >= or <= in two letters"),
        (
            "[[reject]]",
            "[[reject]]\nname = \"a\"\nkind = \"any\"\n[reject]",
            "write each of its kind in double brackets",
        ),
        // Too far from any word: the known ones are listed.
        ("title", "heading", "the keys here are id, title"),
    ] {
        let (_, _, text) = fault(&format!("{HEAD}{RULE}").replacen(from, to, 1));
        assert!(text.ends_with(remedy) || text.contains(&format!("; {remedy}")), "{to}: {text}");
    }
}

#[test]
fn a_ratio_is_a_positive_number_with_its_side() {
    for ratio in ["> 0", "> -3", "> NaN", "3", "< 3", "> 1/0", ">"] {
        let (line, column, text) =
            fault(&format!("{HEAD}[linear]\nlength_over_width = \"{ratio}\"\n{RULE}"));
        assert_eq!((line, column), (5, 21), "{text}");
    }
    let set = read(&format!("{HEAD}[linear]\nlength_over_width = \">= 2.5\"\n{RULE}")).unwrap();
    assert_eq!(set.linear_past().side, Side::AtLeast);
}

#[test]
fn nonsense_is_refused() {
    for text in [
        String::new(),
        HEAD.to_owned(),
        format!("{HEAD}reject = 3\n"),
        format!("{HEAD}reject = [3]\n"),
        format!("{HEAD}{RULE}{RULE}"),
        format!("{HEAD}{}", RULE.replace("> 3 mm", "3 mm")),
        format!("{HEAD}{}", RULE.replace("> 3 mm", "< 3 mm")),
        format!("{HEAD}{}", RULE.replace("\"> 3 mm\"", "3")),
        format!("{HEAD}{}", RULE.replace("> 3 mm", "> -3 mm")),
        format!("{HEAD}{}", RULE.replace("\"length\"", "\"depth\"")),
        format!("{HEAD}{RULE}of = \"square\"\n"),
        format!("{HEAD}{RULE}label = [\"Crack\"]\n"),
        format!("{HEAD}{RULE}confidence = \"read\"\n"),
        format!("{HEAD}{RULE}source = \"a\"\nconfidence = \"sure\"\n"),
        format!("{}{RULE}", HEAD.replace("\"mm\"", "\"cm\"")),
        format!("{}{RULE}", HEAD.replace("id = \"x\"", "id = \"X y\"")),
        format!("{HEAD}{}", "[".repeat(100_000)),
        "\u{0}\u{feff}\u{2028}".to_owned(),
    ] {
        fault(&text);
    }
}

#[test]
fn numbers_without_a_source_are_the_users_own() {
    let set = read(&format!("{HEAD}{RULE}")).unwrap();
    assert_eq!(set.rules().last().unwrap().source.confidence, Confidence::Own);
    let set = read(&format!("{HEAD}{RULE}source = \"drawing 12\"\n")).unwrap();
    assert_eq!(set.rules().last().unwrap().source.text, "drawing 12");
}

#[test]
fn the_schema_lists_the_same_keys() {
    let schema: serde_json::Value = serde_json::from_str(crate::rules::form_schema()).unwrap();
    let keys = |at: &str| -> Vec<String> {
        let table = schema.pointer(at).and_then(|v| v.as_object()).unwrap();
        table.keys().cloned().collect()
    };
    let mut top = TOP.map(str::to_owned).to_vec();
    top.sort();
    let mut listed = keys("/properties");
    listed.sort();
    assert_eq!(listed, top);
    // Each key of a rule is read by some kind of rule: else it is called unknown there.
    for key in keys("/properties/reject/items/properties") {
        let known = [
            "any",
            "length",
            "width",
            "row",
            "spacing",
            "count",
            "total-length",
            "total-area",
            "weld-share",
        ]
        .iter()
        .any(|kind| {
            let rule = format!("{HEAD}[[reject]]\nkind = \"{kind}\"\n{key} = 1\n");
            let rule =
                if key == "kind" { format!("{HEAD}[[reject]]\nkind = \"{kind}\"\n") } else { rule };
            !read(&rule).unwrap_err().fact().contains("is not known in")
        });
        assert!(known, "{key}");
    }
}
