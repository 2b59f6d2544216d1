//! How the letters of a text are coded: found from its bytes, all of them.

use std::borrow::Cow;
use std::fmt;

use encoding_rs::{UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// How letters are coded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, with or without its mark.
    Utf8,
    /// UTF-16, the lower byte first.
    Utf16Little,
    /// UTF-16, the higher byte first.
    Utf16Big,
    /// Windows-1252, of which ISO 8859-1 is a part.
    Windows1252,
}

impl Encoding {
    /// All of them.
    pub const ALL: [Encoding; 4] = [Encoding::Utf8, Encoding::Utf16Little, Encoding::Utf16Big, Encoding::Windows1252];
}

impl fmt::Display for Encoding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Encoding::Utf8 => "utf-8",
            Encoding::Utf16Little => "utf-16le",
            Encoding::Utf16Big => "utf-16be",
            Encoding::Windows1252 => "windows-1252",
        })
    }
}

/// How many bytes from the first are looked at for those of UTF-16.
const LOOKED_AT: usize = 4_096;

/// A text and how it was coded; none where the bytes are no text.
#[must_use]
pub fn decode(bytes: &[u8], wanted: Option<Encoding>) -> Option<(Cow<'_, str>, Encoding)> {
    let encoding = wanted.unwrap_or_else(|| found(bytes));
    let coded = match encoding {
        Encoding::Utf8 => UTF_8,
        Encoding::Utf16Little => UTF_16LE,
        Encoding::Utf16Big => UTF_16BE,
        Encoding::Windows1252 => WINDOWS_1252,
    };
    let (text, is_broken) = coded.decode_without_bom_handling(bytes);
    if is_broken {
        return None;
    }
    let text = match text {
        Cow::Borrowed(text) => Cow::Borrowed(text.trim_start_matches('\u{feff}')),
        Cow::Owned(text) => Cow::Owned(text.trim_start_matches('\u{feff}').to_owned()),
    };
    // Of what no keyboard writes a text holds nothing.
    let strange = |sign: char| sign.is_control() && !matches!(sign, '\t' | '\n' | '\r' | '\u{b}' | '\u{c}');
    (!text.contains(strange)).then_some((text, encoding))
}

fn found(bytes: &[u8]) -> Encoding {
    match bytes {
        [0xef, 0xbb, 0xbf, ..] => return Encoding::Utf8,
        [0xff, 0xfe, ..] => return Encoding::Utf16Little,
        [0xfe, 0xff, ..] => return Encoding::Utf16Big,
        _ => {}
    }
    // Of two bytes for a letter one is nought wherever the letter is a plain one, as delimiters and figures are.
    let pairs: Vec<&[u8]> = bytes[..bytes.len().min(LOOKED_AT)].chunks_exact(2).collect();
    let noughts = |at: usize| pairs.iter().filter(|pair| pair[at] == 0).count();
    let (first, second) = (noughts(0), noughts(1));
    if second * 2 > pairs.len() && first == 0 {
        return Encoding::Utf16Little;
    }
    if first * 2 > pairs.len() && second == 0 {
        return Encoding::Utf16Big;
    }
    // What reads as UTF-8 beyond plain letters is hardly ever anything else.
    if std::str::from_utf8(bytes).is_ok() { Encoding::Utf8 } else { Encoding::Windows1252 }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "barril;año;fût\r\nA;2024;é€’\r\n";

    #[test]
    fn a_text_is_read_however_it_is_coded() {
        let sixteen = |order: fn(u16) -> [u8; 2]| TEXT.encode_utf16().flat_map(order).collect::<Vec<u8>>();
        let with = |mark: &[u8], bytes: Vec<u8>| [mark, &bytes].concat();
        let windows = WINDOWS_1252.encode(TEXT).0.into_owned();
        for (bytes, encoding) in [
            (TEXT.as_bytes().to_vec(), Encoding::Utf8),
            (with(&[0xef, 0xbb, 0xbf], TEXT.as_bytes().to_vec()), Encoding::Utf8),
            (sixteen(u16::to_le_bytes), Encoding::Utf16Little),
            (with(&[0xff, 0xfe], sixteen(u16::to_le_bytes)), Encoding::Utf16Little),
            (sixteen(u16::to_be_bytes), Encoding::Utf16Big),
            (with(&[0xfe, 0xff], sixteen(u16::to_be_bytes)), Encoding::Utf16Big),
            (windows, Encoding::Windows1252),
        ] {
            let (text, found) = decode(&bytes, None).unwrap();
            assert_eq!((text.as_ref(), found), (TEXT, encoding));
        }
    }

    #[test]
    fn what_is_no_text_is_none() {
        assert_eq!(decode(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", None), None);
        assert_eq!(decode(b"label\n\x1b[2J\n", None), None);
        assert_eq!(decode(b"\xc3(", Some(Encoding::Utf8)), None);
        assert_eq!(decode(b"", None).unwrap().0, "");
        // Somebody may have written the sign for what could not be read.
        assert_eq!(decode("a\u{fffd}".as_bytes(), None).unwrap().0, "a\u{fffd}");
    }
}
