use super::*;

fn designs() -> [CardDesign; 3] {
    CardDesign::all()
}

#[test]
fn every_card_fits_both_papers_with_a_rim() {
    for paper in [Paper::A4, Paper::LETTER] {
        let inside =
            Rect { x_mm: 0.0, y_mm: 0.0, width_mm: paper.width_mm, height_mm: paper.height_mm };
        // Printers leave up to about 6 mm unprinted (common practice, no source).
        let printable = inside.grown(-6.0);
        for design in designs() {
            let page = Page::on(paper, &design);
            for rect in page.ink.iter().chain([&page.cut]) {
                assert!(rect.corners().iter().all(|c| printable.holds(*c)), "{rect:?}");
            }
            for words in &page.words {
                let end = match words.direction {
                    Direction::Across => [words.at_mm[0] + words.long_mm, words.at_mm[1]],
                    Direction::Down => [words.at_mm[0], words.at_mm[1] + words.long_mm],
                };
                assert!(printable.holds(end), "{words:?}");
                assert!(words.em_mm > 1.2, "{words:?}");
            }
        }
    }
}

#[test]
fn the_png_is_true_to_size() {
    let design = CardDesign::standard();
    let mut bytes = Vec::new();
    png(&Page::trimmed(&design), 300, &mut bytes).unwrap();
    let reader = ::png::Decoder::new(std::io::Cursor::new(&bytes)).read_info().unwrap();
    let dims = reader.info().pixel_dims.unwrap();
    assert_eq!((dims.xppu, dims.yppu), (11_811, 11_811), "300 dpi in pixels a metre");

    // The length of the bar across, summed from its ink.
    let picture = image::load_from_memory(&bytes).unwrap().to_luma8();
    let around = design.sheet().grown(PNG_RIM_MM);
    let bar = design.bars()[0].ink;
    let row = pixels((bar.y_mm + bar.height_mm / 2.0 - around.y_mm) * 300.0 / 25.4);
    let until = pixels((bar.x_mm + bar.width_mm + 1.0 - around.x_mm) * 300.0 / 25.4);
    let ink: f64 =
        (0..until).map(|x| 1.0 - f64::from(picture.get_pixel(x, row).0[0]) / 255.0).sum();
    let long_mm = ink * 25.4 / 300.0;
    // Each end is true to an eighth of a pixel.
    assert!((long_mm - 100.0).abs() < 0.25 * 25.4 / 300.0, "{long_mm}");
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "inside a small picture"
)]
fn pixels(value: f64) -> u32 {
    value as u32
}

#[test]
fn the_em_share_is_the_fonts_own() {
    // Width of an em dash is one em in this typeface family (condensed: nine tenths of it).
    let letters = Lettering::new();
    let em = letters.width("\u{2014}", 1000.0) / 0.9;
    assert!((em / 1000.0 - EM_OF_LINE).abs() < 0.002, "{em}");
}

#[test]
fn a_black_square_has_no_seam() {
    let design = CardDesign::standard();
    for dpi in [72, 137, 300] {
        let mut bytes = Vec::new();
        png(&Page::trimmed(&design), dpi, &mut bytes).unwrap();
        let picture = image::load_from_memory(&bytes).unwrap().to_luma8();
        let around = design.sheet().grown(PNG_RIM_MM);
        let at = |mm: f64| pixels(mm * f64::from(dpi) / 25.4);
        for marker in design.markers() {
            // Its black border, one cell wide, along the top.
            let outside = marker.outside;
            let row = at(outside.y_mm - around.y_mm + outside.height_mm / 12.0);
            let (left, right) =
                (outside.x_mm - around.x_mm, outside.x_mm - around.x_mm + outside.width_mm);
            for x in at(left) + 1..at(right) - 1 {
                assert_eq!(picture.get_pixel(x, row).0[0], 0, "{dpi} dpi, marker {}", marker.id);
            }
        }
    }
}
