//! Rows of a damaged file found page by page, where the tree that leads to them is broken.
//!
//! A page that holds rows of a table says so in its first byte, and holds them whole but for long ones, which go on in
//! a chain of further pages. Whose rows they are it does not say: their seals tell. Pages on the list of free ones are
//! passed over, since what they hold was taken out.
//!
//! Source: SQLite, "Database File Format", sections 1.3 (header), 1.5 (freelist), 1.6 (b-tree pages and their payload)
//! and 2.1 (records).

use std::collections::HashSet;

use rusqlite::types::Value;

/// The first byte of a page that holds rows of a table.
const TABLE_LEAF: u8 = 0x0d;

/// A file's bytes as pages; what is cut off at the end is not there.
struct Pages<'a> {
    bytes: &'a [u8],
    size: usize,
    /// Bytes of a page without what is reserved at its end.
    usable: usize,
}

/// Every row on every page of tables: its number and its cells.
pub(super) fn loose_rows(bytes: &[u8]) -> Vec<(i64, Vec<Value>)> {
    let Some(pages) = Pages::of(bytes) else { return Vec::new() };
    let free = pages.free();
    let held = (2..=bytes.len() / pages.size).filter(|n| !free.contains(n)).filter_map(|n| pages.page(n));
    held.filter(|page| page[0] == TABLE_LEAF).flat_map(|page| pages.rows(page)).collect()
}

impl<'a> Pages<'a> {
    fn of(bytes: &'a [u8]) -> Option<Self> {
        let size = match u16_at(bytes, 16)? {
            1 => 65_536,
            size => size,
        };
        let usable = size.checked_sub(usize::from(*bytes.get(20)?))?;
        (size >= 512 && usable >= 480).then_some(Self { bytes, size, usable })
    }

    /// A page by its number, counted from 1.
    fn page(&self, n: usize) -> Option<&'a [u8]> {
        let start = n.checked_sub(1)?.checked_mul(self.size)?;
        self.bytes.get(start..start.checked_add(self.size)?)
    }

    fn free(&self) -> HashSet<usize> {
        let mut free = HashSet::new();
        let mut next = u32_at(self.bytes, 32).unwrap_or(0);
        while let Some(trunk) = self.page(next).filter(|_| free.insert(next)) {
            let count = u32_at(trunk, 4).unwrap_or(0).min(self.usable / 4 - 2);
            free.extend((0..count).filter_map(|i| u32_at(trunk, 8 + 4 * i)));
            next = u32_at(trunk, 0).unwrap_or(0);
        }
        free
    }

    fn rows(&self, page: &'a [u8]) -> Vec<(i64, Vec<Value>)> {
        let cells = u16_at(page, 3).unwrap_or(0);
        (0..cells).filter_map(|i| self.row(page, u16_at(page, 8 + 2 * i)?)).collect()
    }

    fn row(&self, page: &[u8], at: usize) -> Option<(i64, Vec<Value>)> {
        let mut rest = page.get(at..self.usable)?;
        let length = usize::try_from(varint(&mut rest)?).ok()?;
        let number = varint(&mut rest)?;
        let most_here = self.usable - 35;
        if length <= most_here {
            return Some((number, record(rest.get(..length)?)?));
        }
        let least_here = (self.usable - 12) * 32 / 255 - 23;
        let wanted = least_here + (length.checked_sub(least_here)?) % (self.usable - 4);
        let here = if wanted <= most_here { wanted } else { least_here };
        let mut payload = rest.get(..here)?.to_vec();
        let mut next = u32_at(rest, here)?;
        // A chain cannot be longer than the file, so that one that bites its own tail ends.
        for _ in 0..=self.bytes.len() / self.size {
            if payload.len() >= length {
                break;
            }
            let further = self.page(next)?;
            payload.extend(&further[4..self.usable]);
            next = u32_at(further, 0)?;
        }
        Some((number, record(payload.get(..length)?)?))
    }
}

/// The cells of one record.
fn record(payload: &[u8]) -> Option<Vec<Value>> {
    let mut header = payload;
    let header_length = usize::try_from(varint(&mut header)?).ok()?;
    let skipped = payload.len() - header.len();
    let mut types = header.get(..header_length.checked_sub(skipped)?)?;
    let mut body = payload.get(header_length..)?;
    let mut cells = Vec::new();
    while !types.is_empty() {
        let kind = varint(&mut types)?;
        cells.push(match kind {
            0 => Value::Null,
            1..=6 => Value::Integer(integer(take(&mut body, [1, 2, 3, 4, 6, 8][kind as usize - 1])?)),
            7 => Value::Real(f64::from_be_bytes(take(&mut body, 8)?.try_into().ok()?)),
            8 => Value::Integer(0),
            9 => Value::Integer(1),
            12.. => {
                let bytes = take(&mut body, usize::try_from((kind - 12) / 2).ok()?)?;
                match kind % 2 {
                    0 => Value::Blob(bytes.to_vec()),
                    _ => Value::Text(String::from_utf8(bytes.to_vec()).ok()?),
                }
            }
            _ => return None,
        });
    }
    Some(cells)
}

fn take<'a>(body: &mut &'a [u8], n: usize) -> Option<&'a [u8]> {
    let (taken, rest) = body.split_at_checked(n)?;
    *body = rest;
    Some(taken)
}

/// A big-endian number in two's complement, of 1 to 8 bytes.
fn integer(bytes: &[u8]) -> i64 {
    let sign = if bytes[0] & 0x80 == 0 { 0 } else { -1 };
    bytes.iter().fold(sign, |x, b| (x << 8) | i64::from(*b))
}

/// A number of 1 to 9 bytes, seven bits in each but the ninth.
fn varint(rest: &mut &[u8]) -> Option<i64> {
    let mut x: i64 = 0;
    for i in 0..9 {
        let (first, after) = rest.split_first()?;
        *rest = after;
        if i == 8 {
            return Some((x << 8) | i64::from(*first));
        }
        x = (x << 7) | i64::from(first & 0x7f);
        if first & 0x80 == 0 {
            break;
        }
    }
    Some(x)
}

fn u16_at(bytes: &[u8], at: usize) -> Option<usize> {
    Some(usize::from(u16::from_be_bytes(bytes.get(at..at + 2)?.try_into().ok()?)))
}

fn u32_at(bytes: &[u8], at: usize) -> Option<usize> {
    usize::try_from(u32::from_be_bytes(bytes.get(at..at + 4)?.try_into().ok()?)).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_that_sqlite_wrote_is_found() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.db");
        let conn = rusqlite::Connection::open(&path).unwrap();
        conn.execute_batch("CREATE TABLE t (n INTEGER PRIMARY KEY, i, r REAL, t TEXT, b)").unwrap();
        let integers = [0, 1, -1, 127, -128, 300, -70_000, 1 << 22, -(1 << 40), i64::MAX, i64::MIN];
        let mut wanted = Vec::new();
        for (n, i) in (1..).zip(integers.iter().cycle().take(500)) {
            // Some texts are longer than a page, some than several.
            let text = "é".repeat(n as usize * 37 % 9000);
            // SQLite keeps a whole number in a column of reals as an integer.
            let real = n as f64 + 0.25;
            conn.execute("INSERT INTO t VALUES (?, ?, ?, ?, x'0102')", (n, i, real, &text)).unwrap();
            let cells = [
                Value::Null,
                Value::Integer(*i),
                Value::Real(real),
                Value::Text(text),
                Value::Blob(vec![1, 2]),
            ];
            wanted.push((n, cells.to_vec()));
        }
        conn.execute_batch("DELETE FROM t WHERE n > 400; VACUUM").unwrap();
        wanted.truncate(400);
        drop(conn);
        let mut found = loose_rows(&std::fs::read(&path).unwrap());
        found.sort_by_key(|(n, _)| *n);
        assert_eq!(found, wanted);
    }

    #[test]
    fn bytes_of_any_kind_end_in_an_answer() {
        let mut state: u64 = 0x2026_0301;
        for _ in 0..200 {
            let mut bytes = b"SQLite format 3\0\x02\0\x01\x01\0\x40\x20\x20".to_vec();
            for _ in 0..512 {
                state ^= state << 13;
                state ^= state >> 7;
                state ^= state << 17;
                bytes.extend(state.to_le_bytes());
            }
            bytes.chunks_mut(512).for_each(|page| page[0] = TABLE_LEAF);
            loose_rows(&bytes);
        }
    }
}
