//! Lines of what comes in, none of which can fill the memory.

use std::io::{self, BufRead, ErrorKind};

/// What a line is.
#[derive(Debug, PartialEq, Eq)]
pub enum LineRead {
    /// A line, without its end.
    Whole(Vec<u8>),
    /// A line of more bytes than the limit; it was passed over without being kept.
    TooLong,
}

/// Reads line by line, each of at most so many bytes. A line ends with a line feed, a carriage return or both; the last may
/// lack its end. A byte order mark before the first line is passed over.
pub struct Lines<R> {
    source: R,
    limit: usize,
    is_first: bool,
    /// Whether the line before ended with a carriage return, to which a line feed would belong.
    after_return: bool,
}

impl<R: BufRead> Lines<R> {
    /// Lines of a source.
    pub const fn new(source: R, limit: usize) -> Lines<R> {
        Lines { source, limit, is_first: true, after_return: false }
    }

    /// The next line, if there is one.
    pub fn read(&mut self) -> io::Result<Option<LineRead>> {
        // The mark is none of the line's own bytes.
        const AROUND: usize = BYTE_ORDER_MARK.len();
        let mut line: Vec<u8> = Vec::new();
        let (mut any, mut too_long) = (false, false);
        loop {
            let available = match self.source.fill_buf() {
                Ok(available) => available,
                Err(error) if error.kind() == ErrorKind::Interrupted => continue,
                Err(error) => return Err(error),
            };
            if available.is_empty() {
                break;
            }
            if std::mem::replace(&mut self.after_return, false) && available[0] == b'\n' {
                self.source.consume(1);
                continue;
            }
            any = true;
            let end = available.iter().position(|&byte| byte == b'\n' || byte == b'\r');
            self.after_return = end.is_some_and(|end| available[end] == b'\r');
            let part = &available[..end.unwrap_or(available.len())];
            too_long |= line.len() + part.len() > self.limit + AROUND;
            if too_long {
                line = Vec::new();
            } else {
                line.extend_from_slice(part);
            }
            let used = part.len() + usize::from(end.is_some());
            self.source.consume(used);
            if end.is_some() {
                break;
            }
        }
        let is_first = std::mem::replace(&mut self.is_first, false);
        if !any {
            return Ok(None);
        }
        if is_first && line.starts_with(BYTE_ORDER_MARK) {
            line.drain(..BYTE_ORDER_MARK.len());
        }
        Ok(Some(if too_long || line.len() > self.limit { LineRead::TooLong } else { LineRead::Whole(line) }))
    }
}

/// Some editors begin a file of UTF-8 with this.
const BYTE_ORDER_MARK: &[u8] = b"\xef\xbb\xbf";

#[cfg(test)]
mod tests {
    use super::*;

    fn read(bytes: &[u8], limit: usize) -> Vec<LineRead> {
        let mut lines = Lines::new(io::BufReader::with_capacity(3, bytes), limit);
        std::iter::from_fn(|| lines.read().unwrap()).collect()
    }

    fn whole(text: &str) -> LineRead {
        LineRead::Whole(text.as_bytes().to_vec())
    }

    #[test]
    fn lines_end_as_every_system_ends_them() {
        assert_eq!(read(b"one\ntwo\r\n\nthree", 10), [whole("one"), whole("two"), whole(""), whole("three")]);
        assert_eq!(read(b"one\rtwo\r\rthree\r", 10), [whole("one"), whole("two"), whole(""), whole("three")]);
        assert_eq!(read(b"one\n\r\r\n\ntwo\r\n", 10), [whole("one"), whole(""), whole(""), whole(""), whole("two")]);
        assert_eq!(read(b"", 10), []);
        assert_eq!(read(b"\n", 10), [whole("")]);
    }

    #[test]
    fn a_byte_order_mark_is_passed_over_at_the_start_only() {
        assert_eq!(read(b"\xef\xbb\xbfone\n\xef\xbb\xbftwo", 10), [whole("one"), whole("\u{feff}two")]);
    }

    #[test]
    fn a_long_line_is_passed_over_and_the_next_is_read() {
        let mut bytes = vec![b'x'; 5_000];
        bytes.extend_from_slice(b"\nok\n");
        assert_eq!(read(&bytes, 8), [LineRead::TooLong, whole("ok")]);
        assert_eq!(read(b"\xef\xbb\xbf12345678\r\n123456789\n", 8), [whole("12345678"), LineRead::TooLong]);
    }

    /// A hundred megabytes without a line break, from a source that makes them up.
    #[test]
    fn a_line_without_end_is_not_kept() {
        let source = io::BufReader::new(io::Read::chain(io::Read::take(io::repeat(b'x'), 100_000_000), &b"\nok"[..]));
        let mut lines = Lines::new(source, 1 << 20);
        assert_eq!(lines.read().unwrap(), Some(LineRead::TooLong));
        assert_eq!(lines.read().unwrap(), Some(whole("ok")));
    }
}
