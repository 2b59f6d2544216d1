//! The zip that a workbook is: its parts, unpacked as they are read and counted together.

use std::collections::HashMap;
use std::io::{self, BufRead, BufReader, Cursor, Read};

use zip::ZipArchive;
use zip::read::ZipFile;
use zip::result::ZipError;

use super::super::Unreadable;
use super::stream::Stream;

/// All that is unpacked of a workbook may be so large together, bytes.
pub const MOST_UNPACKED: u64 = 48 << 20;
/// A zip may have so many parts.
const MOST_PARTS: usize = 4_096;
/// A single tag or a text between two may be so long, bytes.
const LONGEST_PIECE: u64 = 1 << 20;

/// A zip and what of it may still be unpacked.
pub struct Package<'a> {
    archive: ZipArchive<Cursor<&'a [u8]>>,
    /// Its parts by their names in small letters: not every program keeps to the letters it wrote elsewhere.
    parts: HashMap<String, usize>,
    left: u64,
}

impl<'a> Package<'a> {
    pub fn open(bytes: &'a [u8]) -> Result<Package<'a>, Unreadable> {
        look_at_directory(bytes)?;
        let archive = ZipArchive::new(Cursor::new(bytes)).map_err(|error| match error {
            ZipError::InvalidPassword => Unreadable::Locked,
            _ => Unreadable::Damaged("it is cut off or no whole zip".to_owned()),
        })?;
        let names = archive.file_names_raw().enumerate();
        let parts = names.map(|(at, name)| (key(&String::from_utf8_lossy(name)), at)).collect();
        Ok(Package { archive, parts, left: MOST_UNPACKED })
    }

    pub fn has(&self, name: &str) -> bool {
        self.parts.contains_key(&key(name))
    }

    /// The XML of a part; none where there is no such part.
    pub fn part(&mut self, name: &str) -> Result<Option<Stream<'_, 'a>>, Unreadable> {
        let Some(&at) = self.parts.get(&key(name)) else { return Ok(None) };
        let file = self.archive.by_index(at).map_err(|error| match error {
            ZipError::UnsupportedArchive(ZipError::PASSWORD_REQUIRED) | ZipError::InvalidPassword => Unreadable::Locked,
            ZipError::CompressionMethodNotSupported(_) => {
                Unreadable::Damaged(format!("'{name}' in it is packed in a way that is not read"))
            }
            _ => Unreadable::Damaged(format!("'{name}' in it cannot be unpacked")),
        })?;
        Ok(Some(Stream::new(Part::new(file, &mut self.left), name)))
    }

    /// The XML of a part that has to be there.
    pub fn needed(&mut self, name: &str) -> Result<Stream<'_, 'a>, Unreadable> {
        self.part(name)?.ok_or_else(|| Unreadable::Damaged(format!("'{name}' is missing in it")))
    }

    /// The same of one that is read whole: what is claimed of its size is then refused before anything is unpacked.
    pub fn whole(&mut self, name: &str) -> Result<Stream<'_, 'a>, Unreadable> {
        let claimed = self.parts.get(&key(name)).and_then(|&at| self.archive.by_index(at).ok().map(|file| file.size()));
        if claimed.is_some_and(|claimed| claimed > self.left) {
            return Err(too_large());
        }
        self.needed(name)
    }
}

fn key(name: &str) -> String {
    name.trim_start_matches(['/', '\\']).replace('\\', "/").to_lowercase()
}

fn too_large() -> Unreadable {
    Unreadable::TooMuch(format!("more than {} MB when it is unpacked", MOST_UNPACKED >> 20))
}

/// Refuses a directory that claims more than there is: room is made for what it claims before it is read.
fn look_at_directory(bytes: &[u8]) -> Result<(), Unreadable> {
    let of =
        |sign: &'static [u8; 4]| bytes.windows(4).enumerate().filter(move |(_, four)| four == sign).map(|(at, _)| at);
    if of(b"PK\x01\x02").nth(MOST_PARTS).is_some() {
        return Err(Unreadable::TooMuch(format!("more than {MOST_PARTS} parts")));
    }
    // The larger directory of later zips has numbers of eight bytes.
    let number = |at: usize| {
        let eight = bytes.get(at..at + 8).and_then(|eight| eight.try_into().ok());
        eight.map_or(u64::MAX, u64::from_le_bytes)
    };
    let room = bytes.len() as u64;
    let is_true = |at: usize| {
        let (own_size, entries) = (number(at + 4), number(at + 24).max(number(at + 32)));
        let (size, begin) = (number(at + 40), number(at + 48));
        own_size < 1 << 16 && entries <= MOST_PARTS as u64 && size <= room && begin <= room
    };
    if of(b"PK\x06\x07").next().is_some() && !of(b"PK\x06\x06").all(is_true) {
        return Err(Unreadable::Damaged("its directory claims more than there is".to_owned()));
    }
    Ok(())
}

/// A part as it is unpacked.
pub struct Part<'p, 'a> {
    bytes: BufReader<ZipFile<'p, Cursor<&'a [u8]>>>,
    left: &'p mut u64,
    /// How long the tag or the text is by now.
    piece: u64,
}

impl<'p, 'a> Part<'p, 'a> {
    fn new(file: ZipFile<'p, Cursor<&'a [u8]>>, left: &'p mut u64) -> Part<'p, 'a> {
        Part { bytes: BufReader::with_capacity(1 << 15, file), left, piece: 0 }
    }

    /// Another tag or text begins.
    pub fn begin(&mut self) {
        self.piece = 0;
    }

    /// What it was refused for.
    pub fn refusal(&self) -> Option<Unreadable> {
        let longest = || Unreadable::TooMuch(format!("a tag or a text of more than {} MB", LONGEST_PIECE >> 20));
        if *self.left == 0 { Some(too_large()) } else { (self.piece > LONGEST_PIECE).then(longest) }
    }
}

impl Read for Part<'_, '_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let read = self.fill_buf()?.read(into)?;
        self.consume(read);
        Ok(read)
    }
}

impl BufRead for Part<'_, '_> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.refusal().is_some() {
            return Err(io::Error::other("too large"));
        }
        self.bytes.fill_buf()
    }

    fn consume(&mut self, amount: usize) {
        *self.left = self.left.saturating_sub(amount as u64);
        self.piece += amount as u64;
        self.bytes.consume(amount);
    }
}
