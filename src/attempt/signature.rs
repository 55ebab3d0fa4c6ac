//! Signatures of attempts: whoever holds a key says that they had exactly these bytes.
//!
//! A signature stands in a file of its own beside the attempt, so that the attempt stays what the sitting wrote. It
//! covers every byte; so, unlike the chain, it also shows that lines are missing at the end. It doesn't show who sat
//! there, nor that nobody helped, nor when it was made; and a key that lies on the candidate's computer signs whatever
//! the candidate likes. The key belongs to whoever collects the attempts.
//!
//! Ed25519 (RFC 8032) over a word that says what is signed and the BLAKE3 hash of the bytes; checked strictly, so that
//! of a key and an attempt there is one signature only, and weak keys are refused.

use ed25519_dalek::{Signature as Bytes, Signer as _, VerifyingKey};

/// What is signed begins with this: a signature of an attempt can't be passed off as one of anything else.
const MEANT: &[u8] = b"faultbay attempt 1\0";
/// How a line with a key begins.
pub(crate) const SIGNING: &str = "faultbay-signing-key-1";
pub(crate) const CHECKING: &str = "faultbay-checking-key-1";
/// First line of a file with a signature.
const HEAD: &str = "faultbay-signature-1";
/// Largest file with a key or a signature, bytes.
pub const LARGEST: usize = 4096;

/// Why a key or a signature can't be used, or doesn't fit.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SignatureError {
    /// The text holds no key of this kind.
    #[error(
        "no line holds a key: it begins with {0} and then has 64 hexadecimal digits and 8 more that check them"
    )]
    NoKey(&'static str),
    /// The digits that check a key don't.
    #[error("the key was copied wrongly: its last eight digits don't check the others")]
    Miscopied,
    /// A key that no honest program makes.
    #[error("the key is weak or isn't a point of the curve")]
    BadKey,
    /// The text holds no signature.
    #[error("the file holds no signature: its first line must be {HEAD}")]
    NoSignature,
    /// The signature isn't that of these bytes.
    #[error("the signature doesn't fit: the attempt or the signature was changed after signing")]
    Misfit,
}

/// The half that signs. Doesn't print itself.
pub struct SigningKey(ed25519_dalek::SigningKey);

/// The half that checks.
#[derive(Clone, PartialEq, Eq)]
pub struct CheckingKey(VerifyingKey);

/// A signature with the key that it says it is of.
pub struct Signature {
    /// The half of the key that checks it.
    pub key: CheckingKey,
    bytes: Bytes,
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

fn unhex<const N: usize>(text: &str) -> Option<[u8; N]> {
    let mut out = [0; N];
    let text = text.as_bytes();
    if text.len() != 2 * N {
        return None;
    }
    for (byte, pair) in out.iter_mut().zip(text.chunks(2)) {
        let digit = |b: u8| char::from(b).to_digit(16).filter(|_| !b.is_ascii_uppercase());
        *byte = (digit(pair[0])? * 16 + digit(pair[1])?) as u8;
    }
    Some(out)
}

/// Digits that check a key against a slip in copying.
fn check_digits(word: &str, key: &[u8; 32]) -> String {
    let mut hash = blake3::Hasher::new();
    hash.update(word.as_bytes());
    hash.update(key);
    hash.finalize().to_hex()[..8].to_owned()
}

fn line(word: &'static str, key: &[u8; 32]) -> String {
    format!("{word} {}{}", hex(key), check_digits(word, key))
}

/// The key in the first line that isn't a remark.
fn key_in(word: &'static str, text: &str) -> Result<[u8; 32], SignatureError> {
    let missing = SignatureError::NoKey(word);
    let held = text.lines().map(str::trim).find(|l| !l.is_empty() && !l.starts_with('#'));
    let digits = held.and_then(|l| l.strip_prefix(word)).ok_or_else(|| missing.clone())?.trim();
    if digits.len() != 72 || !digits.is_ascii() {
        return Err(missing);
    }
    let key = unhex::<32>(&digits[..64]).ok_or(missing)?;
    if check_digits(word, &key) == digits[64..] { Ok(key) } else { Err(SignatureError::Miscopied) }
}

impl SigningKey {
    /// A key from 32 bytes that nobody can guess.
    pub fn from_secret(secret: &[u8; 32]) -> Self {
        Self(ed25519_dalek::SigningKey::from_bytes(secret))
    }

    /// Reads the text of a key's file.
    ///
    /// # Errors
    /// See [`SignatureError`].
    pub fn read(text: &str) -> Result<Self, SignatureError> {
        key_in(SIGNING, text).map(|key| Self::from_secret(&key))
    }

    /// The line that a key's file holds.
    pub fn line(&self) -> String {
        line(SIGNING, self.0.as_bytes())
    }

    /// The half that checks.
    pub fn checking(&self) -> CheckingKey {
        CheckingKey(self.0.verifying_key())
    }

    /// Signs the bytes of an attempt.
    pub fn sign(&self, attempt: &[u8]) -> Signature {
        Signature { key: self.checking(), bytes: self.0.sign(&meant(attempt)) }
    }
}

impl std::fmt::Debug for SigningKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "SigningKey of {}", self.checking().name())
    }
}

impl CheckingKey {
    /// Reads the text of a key's file.
    ///
    /// # Errors
    /// See [`SignatureError`].
    pub fn read(text: &str) -> Result<Self, SignatureError> {
        Self::of(&key_in(CHECKING, text)?)
    }

    fn of(bytes: &[u8; 32]) -> Result<Self, SignatureError> {
        let key = VerifyingKey::from_bytes(bytes).map_err(|_| SignatureError::BadKey)?;
        if key.is_weak() { Err(SignatureError::BadKey) } else { Ok(Self(key)) }
    }

    /// The line that a key's file holds.
    pub fn line(&self) -> String {
        line(CHECKING, self.0.as_bytes())
    }

    /// A short name to compare by eye: the first sixteen digits in fours.
    pub fn name(&self) -> String {
        let digits = hex(&self.0.as_bytes()[..8]);
        let fours: Vec<&str> = (0..4).map(|i| &digits[4 * i..4 * i + 4]).collect();
        fours.join("-")
    }
}

impl std::fmt::Debug for CheckingKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "CheckingKey {}", self.name())
    }
}

impl Signature {
    /// Reads the text of a signature's file.
    ///
    /// # Errors
    /// See [`SignatureError`].
    pub fn read(text: &str) -> Result<Self, SignatureError> {
        let mut lines = text.lines().map(str::trim).filter(|l| !l.is_empty() && !l.starts_with('#'));
        if lines.next() != Some(HEAD) {
            return Err(SignatureError::NoSignature);
        }
        let key = CheckingKey::read(lines.next().unwrap_or(""))?;
        let bytes = lines.next().and_then(unhex::<64>).ok_or(SignatureError::NoSignature)?;
        Ok(Self { key, bytes: Bytes::from_bytes(&bytes) })
    }

    /// The text of its file.
    pub fn text(&self) -> String {
        format!("{HEAD}\n{}\n{}\n", self.key.line(), hex(&self.bytes.to_bytes()))
    }

    /// Whether it is the signature of these bytes by the key that it names. Whether that key is anybody's whom one
    /// trusts is for the caller.
    ///
    /// # Errors
    /// [`SignatureError::Misfit`].
    pub fn check(&self, attempt: &[u8]) -> Result<(), SignatureError> {
        self.key.0.verify_strict(&meant(attempt), &self.bytes).map_err(|_| SignatureError::Misfit)
    }
}

/// What is signed of an attempt.
fn meant(attempt: &[u8]) -> Vec<u8> {
    [MEANT, blake3::hash(attempt).as_bytes()].concat()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(n: u8) -> SigningKey {
        SigningKey::from_secret(&[n; 32])
    }

    #[test]
    fn keys_and_signatures_come_back_from_their_text() {
        let key = key(7);
        let read = SigningKey::read(&format!("# whose\n\n  {}  \n", key.line())).unwrap();
        assert_eq!(read.checking(), key.checking());
        let text = key.sign(b"attempt").text();
        let signature = Signature::read(&text).unwrap();
        assert_eq!(signature.check(b"attempt"), Ok(()));
        assert_eq!(signature.key, CheckingKey::read(&key.checking().line()).unwrap());
        assert_eq!(key.checking().name().len(), 19);
        // what is secret doesn't print itself
        assert!(!format!("{key:?}").contains(&key.line()[30..60]));
    }

    #[test]
    fn nothing_else_fits() {
        let signed = key(7).sign(b"attempt\n");
        for other in [b"attempt".as_slice(), b"attempt\n\n", b"", b"Attempt\n"] {
            assert_eq!(signed.check(other), Err(SignatureError::Misfit));
        }
        // every digit counts
        let text = signed.text();
        let digits = text.rfind('\n').map(|end| end - 128..end).unwrap();
        for i in digits {
            let mut bytes = text.clone().into_bytes();
            bytes[i] = if bytes[i] == b'0' { b'1' } else { b'0' };
            let changed = Signature::read(std::str::from_utf8(&bytes).unwrap()).unwrap();
            assert_eq!(changed.check(b"attempt\n"), Err(SignatureError::Misfit), "digit {i}");
        }
        // another key under the same signature
        let other = text.replace(&key(7).checking().line(), &key(8).checking().line());
        assert_eq!(Signature::read(&other).unwrap().check(b"attempt\n"), Err(SignatureError::Misfit));
    }

    #[test]
    fn slips_and_weak_keys_are_told() {
        let line = key(7).line();
        let slip = line.replacen('0', "1", 2);
        assert!(slip == line || SigningKey::read(&slip).is_err());
        let mut last = line.clone();
        let end = if last.ends_with('0') { '1' } else { '0' };
        last.pop();
        last.push(end);
        assert_eq!(SigningKey::read(&last).unwrap_err(), SignatureError::Miscopied);
        assert_eq!(CheckingKey::read(&line).unwrap_err(), SignatureError::NoKey(CHECKING));
        assert_eq!(SigningKey::read("").unwrap_err(), SignatureError::NoKey(SIGNING));
        // the neutral point: everybody's signature would fit
        let mut neutral = [0; 32];
        neutral[0] = 1;
        assert_eq!(CheckingKey::read(&super::line(CHECKING, &neutral)).unwrap_err(), SignatureError::BadKey);
        assert!(matches!(Signature::read("faultbay-signature-2\n"), Err(SignatureError::NoSignature)));
    }
}
