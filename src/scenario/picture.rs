//! Pictures that a job shows on its card: PNG files that lie beside the jobs, or travel in a pack.
//!
//! A picture comes from a stranger. It is walked piece by piece before anything else looks at it: its size, its pixels
//! and the order of its pieces are bounded, each piece must have the sum that the open standard (PNG, ISO/IEC 15948)
//! asks for, and only what is needed to draw it is kept. What a camera or a program wrote besides (place, time,
//! remarks) is left out, so that a picture gives nothing away that can't be seen in it. Nothing is inflated here.

use std::fmt;
use std::sync::Arc;

use thiserror::Error;

/// Largest file of a picture, bytes.
pub const LARGEST_PICTURE: usize = 512 << 10;
/// Longest side, pixels.
pub const LONGEST_SIDE: u32 = 2048;
/// Most pixels.
pub const MOST_PIXELS: u32 = 2_000_000;

const SIGNATURE: &[u8] = b"\x89PNG\r\n\x1a\n";
/// Length, kind and sum of a piece, bytes.
const FRAME: usize = 12;

/// Why a picture isn't taken.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum PictureError {
    /// Too many bytes.
    #[error("it is larger than {} KiB", LARGEST_PICTURE >> 10)]
    TooLarge,
    /// Another kind of file.
    #[error("it isn't a PNG file")]
    NotPng,
    /// Cut short, or something stands behind its end.
    #[error("it is cut short, or something stands behind its end")]
    Torn,
    /// A piece whose sum isn't right.
    #[error("it is damaged: a piece of it has another sum than is written in it")]
    Damaged,
    /// Too many pixels, or none.
    #[error("it has {0} × {1} pixels; at most {LONGEST_SIDE} on a side and {MOST_PIXELS} in all are shown")]
    Pixels(u32, u32),
    /// A way of writing pixels that isn't read.
    #[error("its pixels are written in a way that isn't read; save it with 8 bits a colour, without interlacing")]
    Form,
}

/// A picture with nothing in it but what is needed to draw it.
#[derive(Clone, PartialEq, Eq)]
pub struct Picture {
    png: Arc<[u8]>,
    size: (u32, u32),
    sum: u32,
}

impl fmt::Debug for Picture {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Picture({} × {}, {} bytes)", self.size.0, self.size.1, self.png.len())
    }
}

impl Picture {
    /// Takes a PNG file, or says why not.
    ///
    /// # Errors
    /// The first limit that it breaks.
    pub fn read(bytes: &[u8]) -> Result<Self, PictureError> {
        if bytes.len() > LARGEST_PICTURE {
            return Err(PictureError::TooLarge);
        }
        let mut rest = bytes.strip_prefix(SIGNATURE).ok_or(PictureError::NotPng)?;
        let (mut kept, mut size) = (SIGNATURE.to_vec(), None);
        let mut is_drawn = false;
        loop {
            let (kind, data, whole, further) = piece(rest)?;
            match (kind, size) {
                (b"IHDR", None) => size = Some(header(data)?),
                (b"IHDR", Some(_)) | (_, None) => return Err(PictureError::Torn),
                (b"IDAT", _) => is_drawn = true,
                _ => {}
            }
            if matches!(kind, b"IHDR" | b"PLTE" | b"tRNS" | b"IDAT" | b"IEND") {
                kept.extend_from_slice(whole);
            }
            if kind == b"IEND" {
                let size = size.filter(|_| is_drawn && further.is_empty()).ok_or(PictureError::Torn)?;
                return Ok(Self { sum: sum_of(&kept), png: kept.into(), size });
            }
            rest = further;
        }
    }

    /// As a PNG file.
    pub fn png(&self) -> &[u8] {
        &self.png
    }

    /// The sum of its bytes: tells it from other pictures where nothing hangs on it.
    pub fn sum(&self) -> u32 {
        self.sum
    }

    /// Width and height, pixels.
    pub fn size(&self) -> (u32, u32) {
        self.size
    }
}

/// The next piece: its kind, what is in it, all of it, and what follows.
type Piece<'b> = (&'b [u8; 4], &'b [u8], &'b [u8], &'b [u8]);

fn piece(rest: &[u8]) -> Result<Piece<'_>, PictureError> {
    let torn = PictureError::Torn;
    let length = rest.first_chunk::<4>().map(|b| u32::from_be_bytes(*b) as usize).ok_or(torn.clone())?;
    // a length that is too large can't overflow: it is held against the file first
    if length > LARGEST_PICTURE || rest.len() < FRAME + length {
        return Err(torn);
    }
    let (whole, further) = rest.split_at(FRAME + length);
    let kind = whole[4..].first_chunk::<4>().ok_or(torn.clone())?;
    let sum = whole.last_chunk::<4>().map(|b| u32::from_be_bytes(*b)).ok_or(torn)?;
    if sum_of(&whole[4..8 + length]) != sum {
        return Err(PictureError::Damaged);
    }
    Ok((kind, &whole[8..8 + length], whole, further))
}

fn header(data: &[u8]) -> Result<(u32, u32), PictureError> {
    let Ok(&[w0, w1, w2, w3, h0, h1, h2, h3, bits, colour, packing, filter, interlace]) =
        <&[u8; 13]>::try_from(data)
    else {
        return Err(PictureError::Torn);
    };
    let (width, height) = (u32::from_be_bytes([w0, w1, w2, w3]), u32::from_be_bytes([h0, h1, h2, h3]));
    let fits = (1..=LONGEST_SIDE).contains(&width) && (1..=LONGEST_SIDE).contains(&height);
    if !fits || width * height > MOST_PIXELS {
        return Err(PictureError::Pixels(width, height));
    }
    let is_read = match colour {
        0 | 3 => matches!(bits, 1 | 2 | 4 | 8),
        2 | 4 | 6 => bits == 8,
        _ => false,
    };
    if !is_read || (packing, filter, interlace) != (0, 0, 0) {
        return Err(PictureError::Form);
    }
    Ok((width, height))
}

/// The sum of a piece: CRC-32 as in ISO 3309.
fn sum_of(bytes: &[u8]) -> u32 {
    let step = |sum: u32| if sum & 1 == 1 { 0xEDB8_8320 ^ (sum >> 1) } else { sum >> 1 };
    let byte = |sum: u32, b: &u8| (0..8).fold(sum ^ u32::from(*b), |s, _| step(s));
    !bytes.iter().fold(u32::MAX, byte)
}

const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// Bytes as letters (base 64, RFC 4648), for a pack.
pub(super) fn to_letters(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let all = three.iter().fold(0_u32, |all, b| all << 8 | u32::from(*b)) << (8 * (3 - three.len()));
        for i in 0..4 {
            let letter = LETTERS[(all >> (18 - 6 * i)) as usize & 63];
            text.push(if i <= three.len() { letter as char } else { '=' });
        }
    }
    text
}

/// Letters as bytes; none when they aren't such letters.
pub(super) fn from_letters(text: &str) -> Option<Vec<u8>> {
    let letters = text.as_bytes();
    if !letters.len().is_multiple_of(4) {
        return None;
    }
    let mut bytes = Vec::with_capacity(letters.len() / 4 * 3);
    for (i, four) in letters.chunks(4).enumerate() {
        let bare = four.iter().rev().skip_while(|c| **c == b'=').count();
        // only the last four may be filled up
        if bare < 2 || bare < 4 && (i + 1) * 4 != letters.len() {
            return None;
        }
        let mut all = 0_u32;
        for letter in &four[..bare] {
            all = all << 6 | LETTERS.iter().position(|l| l == letter)? as u32;
        }
        all <<= 6 * (4 - bare);
        bytes.extend_from_slice(&all.to_be_bytes()[1..bare]);
    }
    Some(bytes)
}

/// A grey square, for examples and tests.
#[rustfmt::skip]
pub const EXAMPLE: &[u8] = &[
    0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a,
    0, 0, 0, 13, b'I', b'H', b'D', b'R', 0, 0, 0, 1, 0, 0, 0, 1, 8, 0, 0, 0, 0, 0x3a, 0x7e, 0x9b, 0x55,
    0, 0, 0, 10, b'I', b'D', b'A', b'T', 0x78, 0x9c, 0x63, 0x68, 0x00, 0x00, 0x00, 0x82, 0x00, 0x81, 0x77, 0xcd, 0x72, 0xb6,
    0, 0, 0, 0, b'I', b'E', b'N', b'D', 0xae, 0x42, 0x60, 0x82,
];

/// A piece with its frame.
#[cfg(test)]
fn with(kind: &[u8; 4], data: &[u8]) -> Vec<u8> {
    let mut piece = (data.len() as u32).to_be_bytes().to_vec();
    piece.extend_from_slice(kind);
    piece.extend_from_slice(data);
    piece.extend_from_slice(&sum_of(&piece[4..]).to_be_bytes());
    piece
}

/// One grey pixel whose data are these, whatever they are.
#[cfg(all(test, feature = "app"))]
pub(crate) fn of_data(data: &[u8]) -> Vec<u8> {
    [&EXAMPLE[..33], &with(b"IDAT", data), &with(b"IEND", b"")].concat()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn of(pieces: &[Vec<u8>]) -> Vec<u8> {
        [SIGNATURE.to_vec(), pieces.concat()].concat()
    }

    fn head(width: u32, height: u32, rest: [u8; 5]) -> Vec<u8> {
        with(b"IHDR", &[&width.to_be_bytes()[..], &height.to_be_bytes(), &rest].concat())
    }

    #[test]
    fn a_picture_is_taken_and_what_cant_be_seen_in_it_is_left_out() {
        let plain = Picture::read(EXAMPLE).unwrap();
        assert_eq!((plain.png(), plain.size()), (EXAMPLE, (1, 1)));
        let (first, rest) = EXAMPLE.split_at(33);
        let told = [first, &with(b"tEXt", b"Comment\0it is the strainer"), &with(b"eXIf", b"52 N"), rest].concat();
        assert_eq!(Picture::read(&told).unwrap(), plain);
    }

    #[test]
    fn what_breaks_a_limit_is_refused_with_the_reason() {
        let grey = [8, 0, 0, 0, 0];
        let (drawn, end) = (with(b"IDAT", b"x"), with(b"IEND", b""));
        let file = |w, h, form| of(&[head(w, h, form), drawn.clone(), end.clone()]);
        let mut damaged = EXAMPLE.to_vec();
        damaged[43] ^= 1;
        let cases: [(Vec<u8>, PictureError); 14] = [
            (b"GIF89a".to_vec(), PictureError::NotPng),
            (vec![0; LARGEST_PICTURE + 1], PictureError::TooLarge),
            (damaged, PictureError::Damaged),
            (EXAMPLE[..40].to_vec(), PictureError::Torn),
            ([EXAMPLE, b"PK"].concat(), PictureError::Torn),
            (of(&[drawn.clone(), end.clone()]), PictureError::Torn),
            (of(&[head(1, 1, grey), end.clone()]), PictureError::Torn),
            (of(&[head(1, 1, grey), head(1, 1, grey)]), PictureError::Torn),
            ([SIGNATURE, &[0xff; 8]].concat(), PictureError::Torn),
            (file(0, 5, grey), PictureError::Pixels(0, 5)),
            (file(60_000, 60_000, grey), PictureError::Pixels(60_000, 60_000)),
            (file(2048, 2048, grey), PictureError::Pixels(2048, 2048)),
            (file(9, 9, [16, 2, 0, 0, 0]), PictureError::Form),
            (file(9, 9, [8, 2, 0, 0, 1]), PictureError::Form),
        ];
        for (bytes, why) in cases {
            assert_eq!(Picture::read(&bytes), Err(why));
        }
        assert!(Picture::read(&file(2000, 1000, [8, 6, 0, 0, 0])).is_ok());
    }

    proptest! {
        #[test]
        fn letters_give_the_bytes_back(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
            prop_assert_eq!(from_letters(&to_letters(&bytes)), Some(bytes));
        }

        #[test]
        fn odd_letters_and_odd_pictures_do_no_harm(text in "[A-Za-z0-9+/=\\- ]{0,40}", at in 0_usize..90, to: u8) {
            let _ = from_letters(&text);
            let mut odd = EXAMPLE.to_vec();
            let at = at % odd.len();
            odd[at] = to;
            let _ = Picture::read(&odd);
        }
    }

    #[test]
    fn letters_are_those_of_the_standard() {
        assert_eq!(to_letters(b"fo"), "Zm8=");
        assert_eq!(to_letters(b"foobar"), "Zm9vYmFy");
        for bad in ["Zm8", "Z===", "Zm8=Zm8=", "Zm\u{e9}=", "===="] {
            assert_eq!(from_letters(bad), None, "{bad}");
        }
    }
}
