//! Who decides, and what a photo cannot tell: said once in every report, in plain words.

/// One sentence each.
pub(crate) const CAUTIONS: [&str; 5] = [
    "Evaluation aid: the governing code, contract, drawing and written procedure decide, through a qualified person.",
    "Only surface-breaking discontinuities can show; what lies below the surface does not.",
    "Sizes are those of the indication (the bleed-out), never of the flaw or its depth.",
    "A clean photo does not mean \"no cracks\": it shows one area, one moment and one process.",
    "Penetrant, remover and developer are flammable solvents: ventilate, keep ignition sources away, wear gloves and eye protection.",
];
