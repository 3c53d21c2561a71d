//! Which bytes a result belongs to.

use sha2::{Digest as _, Sha256};
use std::fmt::Write as _;

/// SHA-256 (FIPS 180-4) in small hexadecimal letters.
#[must_use]
pub(crate) fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}"); // a String takes everything
        text
    })
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_published_example_agrees() {
        // FIPS 180-4 example "abc".
        assert_eq!(
            super::sha256(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}
