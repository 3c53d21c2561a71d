use super::*;

fn fault_of(text: &str) -> String {
    read(text.as_bytes()).expect_err("a fault was expected").to_string()
}

#[test]
fn three_columns_are_enough() {
    let list = read(b"id,length_mm,width_mm\na,3.0,0.5\n").unwrap();
    let a = &list.indications[0];
    assert_eq!((a.id.as_str(), a.length.value.nm(), a.width.value.nm()), ("a", 3_000_000, 500_000));
    assert_eq!(
        (a.place.clone(), a.given_shape, a.relevance),
        (None, None, Relevance::NotYetCalled)
    );
    assert!(list.ignored.is_empty());
}

#[test]
fn inches_are_exact_as_fractions_and_decimals() {
    let list =
        read(b"id,length_in,width_in\na,3/16,1/16\nb,0.1875,0.0625\nc,1 1/4,1/64\n").unwrap();
    let [a, b, c] = &list.indications[..] else { panic!("three lines") };
    assert_eq!(a.length, b.length);
    assert_eq!(a.width.value.nm(), 1_587_500);
    assert_eq!(c.length.value.nm(), 31_750_000);
}

#[test]
fn a_place_becomes_a_stadium() {
    let list = read(b"id,length_mm,width_mm,x_mm,y_mm,angle_deg\na,3,1,-12.5,+4,37.000001\nb,2,2,0,0,\nc,2,1,,,\n").unwrap();
    let Some(Place::Stadium { centre, angle_udeg, length, width }) = &list.indications[0].place
    else {
        panic!("a stadium")
    };
    assert_eq!((centre.x_nm, centre.y_nm, *angle_udeg), (-12_500_000, 4_000_000, 37_000_001));
    assert_eq!((length.nm(), width.nm()), (3_000_000, 1_000_000));
    assert!(list.indications[1].place.is_some(), "a circle needs no direction");
    assert!(list.indications[2].place.is_none());
}

#[test]
fn what_spreadsheets_write_is_read() {
    let list = read("\u{feff}ID;Length_mm;Width_mm;note\r\na;3.5;1;\"x;y\"\r\n;;;\r\n".as_bytes())
        .unwrap();
    assert_eq!(list.indications.len(), 1);
    assert_eq!(list.ignored, ["note"]);
    assert_eq!(read(b"id\tlength_mm\twidth_mm\na\t3\t1\n").unwrap().indications.len(), 1);
}

#[test]
fn calls_are_read() {
    let list =
        read(b"id,length_mm,width_mm,kind,relevance,label\na,3,1,Non-linear,non-relevant,Crack\n")
            .unwrap();
    let a = &list.indications[0];
    assert_eq!(a.given_shape, Some(Shape::Rounded));
    assert_eq!(a.relevance, Relevance::NonRelevant);
    assert_eq!(a.label.as_deref(), Some("crack"));
}

#[test]
fn every_fault_names_its_place_and_remedy() {
    let head = "id,length_mm,width_mm\n";
    for (body, expected) in [
        ("a,NaN,1", "line 2, column length_mm: `NaN` is not a length"),
        ("a,3,-1", "line 2, column width_mm: `-1` is not a length"),
        ("a,0,1", "line 2, column length_mm: is 0;"),
        ("a,3,", "line 2, column width_mm: is empty;"),
        ("a,1,3", "line 2, column width_mm: width 3 mm is more than length 1 mm;"),
        ("a,3,1\na,4,1", "line 3, column id: `a` stands already on line 2;"),
        (",3,1", "line 2, column id: is empty;"),
        ("a,3,1,5", "line 2: 4 cells under 3 headings; write decimals with a point"),
        ("a,\"3,5\",1", "line 2, column length_mm: `3,5` has a comma; write decimals with a point"),
        ("a,0.0000001,1", "finer than a nanometre"),
    ] {
        let message = fault_of(&format!("{head}{body}\n"));
        assert!(message.contains(expected), "{body}: {message}");
    }
}

#[test]
fn a_comma_is_decimal_where_it_divides_no_cells() {
    let list =
        read(b"sep=;\nID;Length (mm);Width mm;x_mm;y_mm;angle_deg\na;3,5;1,25;-4,5;0;22,5\n");
    let list = list.unwrap();
    let a = &list.indications[0];
    assert_eq!((a.length.value.nm(), a.width.value.nm()), (3_500_000, 1_250_000));
    let Some(Place::Stadium { centre, angle_udeg, .. }) = &a.place else { panic!("a stadium") };
    assert_eq!((centre.x_nm, *angle_udeg), (-4_500_000, 22_500_000));
    // The line is that of the file, the separator's own line included.
    let message = fault_of("sep=;\nid;length_mm;width_mm\na;1.234,5;1\n");
    assert!(message.contains("line 3, column length_mm: `1.234,5` has a comma"), "{message}");
}

#[test]
fn slips_of_a_tired_hand_are_told_with_their_remedy() {
    for (head, cell, expected) in [
        ("length_mm", "3mm", "holds a unit; the heading names it"),
        ("length_in", "3/16\"\"", "holds a unit"),
        ("length_in", "1-3/16", "write a space before the fraction, such as 1 3/16"),
        ("length_mm", "~3", "write the one that is to be judged"),
        ("length_mm", "3-4", "write the one that is to be judged"),
    ] {
        let message = fault_of(&format!("id,{head},width_mm\na,\"{cell}\",0.1\n"));
        assert!(message.contains(expected) && message.contains("line 2"), "{cell}: {message}");
    }
    assert!(fault_of("nr,length_mm,width_mm\n").contains("`nr`; rename it to id"));
    assert!(
        fault_of("id,Length,width_mm\n").contains("`Length`; rename it to length_mm or length_in")
    );
    let half = fault_of("id,length_mm,width_mm,x_mm,y_mm\na,1,1,5,\n");
    assert!(half.contains("column y_mm: is empty beside a filled x_mm"), "{half}");
    assert!(fault_of("id,length_mm,width_mm\na,3\n").contains("keep one cell under each heading"));
}

#[test]
fn headings_are_checked() {
    assert!(fault_of("").contains("is empty; the first line must be"));
    assert!(fault_of("item,length_mm\n").contains("has no column id"));
    assert!(fault_of("id,length_mm,length_in,width_mm\n").contains("more than once"));
    assert!(fault_of("id,length_mm,width_mm,x_mm\n").contains("only one of the columns x and y"));
    let no_angle = "id,length_mm,width_mm,x_mm,y_mm\na,3,1,0,0\n";
    assert!(fault_of(no_angle).contains("line 2: a place needs the direction"));
    let bad_angle = "id,length_mm,width_mm,x_mm,y_mm,angle_deg\na,3,1,0,0,400\n";
    assert!(fault_of(bad_angle).contains("column angle_deg: `400` is not an angle"));
    assert_eq!(read(b"id,\xff\n").unwrap_err(), ListError::NotUtf8);
}

proptest::proptest! {
    /// Whatever is typed: a list or a fault, never a panic; and what is read keeps its promises.
    #[test]
    fn nothing_typed_harms(text in "(id|length_mm|width_in|width_mm|x_mm|y_mm|angle_deg|kind|[,;\t\n\"'/. -]|[0-9]{1,13}|[a-z]|\u{feff}|\r\n){0,60}") {
        let with_head = format!("id,length_mm,width_mm,x_mm,y_mm,angle_deg\n{text}");
        for text in [&text, &with_head] {
            if let Ok(list) = read(text.as_bytes()) {
                for indication in list.indications {
                    proptest::prop_assert!(!indication.id.is_empty());
                    proptest::prop_assert!(indication.length.value >= indication.width.value);
                    proptest::prop_assert!(indication.width.value > Length::ZERO);
                }
            }
        }
    }
}
