//! Words that nobody can guess: the key in the address, the token in each form, the names of sheets held in memory.

use rand::TryRng;
use rand::rngs::SysRng;

/// Random bytes of a secret: 192 bits, far beyond guessing.
const BYTES: usize = 24;

/// A word that nobody can guess.
#[derive(Debug, Clone)]
pub struct Secret {
    text: String,
    hash: blake3::Hash,
}

impl Secret {
    /// A new one, from the operating system's random numbers.
    ///
    /// # Errors
    /// When the system has none to give.
    pub fn new() -> Result<Self, rand::rngs::SysError> {
        let mut bytes = [0; BYTES];
        SysRng.try_fill_bytes(&mut bytes)?;
        let text: String = bytes.iter().map(|b| format!("{b:02x}")).collect();
        Ok(Self { hash: blake3::hash(text.as_bytes()), text })
    }

    /// The word, in hexadecimal.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Whether this is the word. Hashes are compared, and in constant time, so that the time it takes says nothing of how
    /// much of a guess was right.
    pub fn is(&self, given: &str) -> bool {
        blake3::hash(given.as_bytes()) == self.hash
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_secret_knows_itself_and_no_other() {
        let (one, other) = (Secret::new().unwrap(), Secret::new().unwrap());
        assert!(one.is(one.text()) && one.text().len() == 2 * BYTES);
        assert!(!one.is(other.text()) && !one.is("") && !one.is(&one.text()[1..]));
    }
}
