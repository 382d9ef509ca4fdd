//! Which encoding a text file is in, found from all of its bytes, and reading it as UTF-8.

use std::io::{self, BufRead, Read};

use encoding_rs::{Decoder, DecoderResult, Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

use super::error::IntakeError;
use super::source::Source;

/// The encoding of a text, and how many bytes of byte-order mark stand before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TextEncoding {
    encoding: &'static Encoding,
    mark: usize,
}

impl TextEncoding {
    /// Its name.
    pub fn name(self) -> &'static str {
        self.encoding.name()
    }

    /// Finds the encoding: by the byte-order mark, else UTF-8 when every byte fits, else Windows-1252.
    ///
    /// # Errors
    /// When the file is empty, cannot be read, or is no text at all.
    pub fn find(source: &Source) -> Result<Self, IntakeError> {
        let mut reader = source.open()?;
        let start = reader.fill_buf().map_err(|e| source.unreadable(e))?;
        if start.is_empty() {
            return Err(IntakeError::Empty { file: source.name().into() });
        }
        if let Some((encoding, mark)) = Encoding::for_bom(start) {
            return Ok(Self { encoding, mark });
        }
        if let Some(encoding) = utf16_without_mark(start) {
            return Ok(Self { encoding, mark: 0 });
        }
        let encoding = match all_utf8(source, reader)? {
            true => UTF_8,
            false => WINDOWS_1252,
        };
        Ok(Self { encoding, mark: 0 })
    }

    /// The text of `source` as UTF-8 bytes.
    ///
    /// # Errors
    /// When the source cannot be opened.
    pub fn open(self, source: &Source) -> Result<Box<dyn BufRead + '_>, IntakeError> {
        let mut reader = source.open()?;
        let mut mark = vec![0; self.mark];
        reader.read_exact(&mut mark).map_err(|e| source.unreadable(e))?;
        if self.encoding == UTF_8 {
            return Ok(reader);
        }
        let decoded =
            Decoded { reader, decoder: self.encoding.new_decoder_without_bom_handling(), ended: false };
        Ok(Box::new(io::BufReader::with_capacity(1 << 16, decoded)))
    }
}

/// UTF-16 whose mark was lost: nearly every second byte of a table is then zero.
fn utf16_without_mark(start: &[u8]) -> Option<&'static Encoding> {
    let pairs = start.len().min(512) / 2;
    let zeros = |offset: usize| (0..pairs).filter(|i| start[2 * i + offset] == 0).count();
    match (zeros(0), zeros(1)) {
        (0, odd) if pairs > 0 && odd * 10 > pairs * 9 => Some(UTF_16LE),
        (even, 0) if pairs > 0 && even * 10 > pairs * 9 => Some(UTF_16BE),
        _ => None,
    }
}

fn all_utf8(source: &Source, mut reader: Box<dyn BufRead + '_>) -> Result<bool, IntakeError> {
    let mut carried: Vec<u8> = Vec::with_capacity(8);
    let mut good = true;
    loop {
        let chunk = reader.fill_buf().map_err(|e| source.unreadable(e))?;
        if chunk.is_empty() {
            return Ok(good && carried.is_empty());
        }
        if chunk.contains(&0) {
            return Err(IntakeError::NotATable {
                file: source.name().into(),
                found: "it is no text, nor a workbook".into(),
            });
        }
        let n = chunk.len();
        if good {
            let mut from = 0;
            while !carried.is_empty()
                && from < n
                && std::str::from_utf8(&carried).is_err()
                && carried.len() < 4
            {
                carried.push(chunk[from]);
                from += 1;
            }
            good = match std::str::from_utf8(&carried) {
                Ok(_) => {
                    carried.clear();
                    keep_cut_letter(&chunk[from..], &mut carried)
                }
                Err(e) => e.error_len().is_none(),
            };
        }
        reader.consume(n);
    }
}

/// Whether `bytes` are UTF-8, apart from a letter cut at the end, which is carried over.
fn keep_cut_letter(bytes: &[u8], carried: &mut Vec<u8>) -> bool {
    match std::str::from_utf8(bytes) {
        Ok(_) => true,
        Err(e) if e.error_len().is_none() => {
            carried.extend_from_slice(&bytes[e.valid_up_to()..]);
            true
        }
        Err(_) => false,
    }
}

/// A reader that turns another encoding into UTF-8.
struct Decoded<R> {
    reader: R,
    decoder: Decoder,
    ended: bool,
}

impl<R: BufRead> Read for Decoded<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        while !self.ended {
            let input = self.reader.fill_buf()?;
            let last = input.is_empty();
            let (result, read, written) = self.decoder.decode_to_utf8_without_replacement(input, out, last);
            self.reader.consume(read);
            match result {
                DecoderResult::Malformed(..) => {
                    return Err(io::Error::new(io::ErrorKind::InvalidData, "a letter is cut or damaged"));
                }
                DecoderResult::InputEmpty => self.ended = last,
                DecoderResult::OutputFull => {}
            }
            if written > 0 {
                return Ok(written);
            }
        }
        Ok(0)
    }
}
