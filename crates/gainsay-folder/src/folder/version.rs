//! Which text of a file is meant.

use sha2::{Digest, Sha256};
use std::fmt;

/// A version of a file: the SHA-256 of its bytes (FIPS 180-4). Equal versions are equal texts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Version([u8; 32]);

impl Version {
    /// The version of a text.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// From the 64 digits that it is shown as; nothing if they aren't.
    #[must_use]
    pub fn parse(digits: &str) -> Option<Self> {
        let mut bytes = [0; 32];
        if digits.len() != 64 {
            return None;
        }
        for (byte, pair) in bytes.iter_mut().zip(digits.as_bytes().chunks_exact(2)) {
            let [high, low] = pair else { return None };
            *byte = digit(*high)? << 4 | digit(*low)?;
        }
        Some(Self(bytes))
    }
}

const fn digit(char: u8) -> Option<u8> {
    match char {
        b'0'..=b'9' => Some(char - b'0'),
        b'a'..=b'f' => Some(char - b'a' + 10),
        _ => None,
    }
}

impl fmt::Display for Version {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}
