//! The command `nde`.

fn main() {}
