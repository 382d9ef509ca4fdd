//! A guard before an old workbook (XLS) is read. Such a file is a small file system: a table says which
//! sector follows which. A damaged table may lead back into itself, or out of the file, and a reader that
//! trusts it never ends; so all chains are walked here first.
//!
//! Source of the layout: the published specification of the compound file binary format, [MS-CFB], 2.2
//! (header), 2.3 (FAT) and 2.4 (mini FAT).

use super::error::IntakeError;
use super::source::Source;

/// Ids from here on are no sectors but marks: end of a chain, unused, part of the table itself.
const FIRST_MARK: u32 = 0xffff_fffa;
/// Sectors of the table that the header itself names.
const IN_HEADER: usize = 109;
/// Bytes of one entry of the folder.
const ENTRY: usize = 128;
/// Parts below this many bytes stand in small sectors.
const SHORT: u32 = 4096;
/// Bytes of the header.
const HEADER: usize = 512;

/// Fails unless every chain of sectors ends inside the file.
///
/// # Errors
/// When a chain leads back into itself or out of the file.
pub fn check_chains(source: &Source, bytes: &[u8]) -> Result<(), IntakeError> {
    let sound = File::of(bytes).and_then(|file| {
        let fat = file.table().filter(|fat| ends(fat))?;
        let mini = file.mini_table(&fat).filter(|mini| ends(mini))?;
        file.parts_are_in(&fat, &mini)
    });
    match sound {
        Some(true) => Ok(()),
        _ => Err(IntakeError::NotATable {
            file: source.name().into(),
            found: "it is a damaged workbook: its parts do not hang together".into(),
        }),
    }
}

struct File<'a> {
    bytes: &'a [u8],
    sector: usize,
}

impl<'a> File<'a> {
    fn of(bytes: &'a [u8]) -> Option<Self> {
        let shift = u16::from_le_bytes(bytes.get(30..32)?.try_into().ok()?);
        matches!(shift, 9 | 12).then_some(Self { bytes, sector: 1 << shift })
    }

    /// A number of the header.
    fn start_at(&self, offset: usize) -> Option<u32> {
        Some(u32::from_le_bytes(self.bytes.get(offset..offset + 4)?.try_into().ok()?))
    }

    /// The numbers of a sector; fewer when the file is cut short in it.
    fn numbers(&self, id: u32) -> Option<Vec<u32>> {
        let start = (id as usize).checked_add(1)?.checked_mul(self.sector)?;
        let bytes = self.bytes.get(start..)?;
        let bytes = &bytes[..bytes.len().min(self.sector)];
        Some(bytes.chunks_exact(4).map(|b| u32::from_le_bytes([b[0], b[1], b[2], b[3]])).collect())
    }

    /// Which sector follows which.
    fn table(&self) -> Option<Vec<u32>> {
        let mut parts: Vec<u32> =
            (0..IN_HEADER).map(|i| self.start_at(HEADER - 4 * IN_HEADER + 4 * i)).collect::<Option<_>>()?;
        let mut next = self.start_at(68)?;
        let most = self.bytes.len() / self.sector;
        for _ in 0..=most {
            if next >= FIRST_MARK {
                let mut table = Vec::new();
                for id in parts.into_iter().filter(|id| *id < FIRST_MARK) {
                    table.extend(self.numbers(id)?);
                }
                return Some(table);
            }
            parts.extend(self.numbers(next)?);
            next = parts.pop()?;
        }
        None
    }

    /// Whether every part that the folder lists begins inside its table.
    fn parts_are_in(&self, fat: &[u32], mini: &[u32]) -> Option<bool> {
        let mut at = self.start_at(48)?;
        while at < FIRST_MARK {
            let start = (at as usize).checked_add(1)?.checked_mul(self.sector)?;
            let sector = self.bytes.get(start..)?;
            for entry in sector[..sector.len().min(self.sector)].chunks_exact(ENTRY) {
                let number =
                    |i: usize| u32::from_le_bytes([entry[i], entry[i + 1], entry[i + 2], entry[i + 3]]);
                let (is_root, first, size) = (entry[66] == 5, number(116), number(120));
                let table = if is_root || size >= SHORT { fat } else { mini };
                if size > 0 && !is_in(first, table) {
                    return Some(false);
                }
            }
            at = *fat.get(at as usize)?;
        }
        Some(true)
    }

    /// The same for the small sectors of short parts.
    fn mini_table(&self, fat: &[u32]) -> Option<Vec<u32>> {
        let mut at = self.start_at(60)?;
        let mut table = Vec::new();
        if self.start_at(64)? == 0 {
            return Some(table);
        }
        for _ in 0..=fat.len() {
            if at >= FIRST_MARK {
                return Some(table);
            }
            table.extend(self.numbers(at)?);
            at = *fat.get(at as usize)?;
        }
        None
    }
}

fn is_in(id: u32, table: &[u32]) -> bool {
    id >= FIRST_MARK || (id as usize) < table.len()
}

/// Whether no chain of a table leads back into itself or out of the table.
fn ends(table: &[u32]) -> bool {
    // 0: not seen, 1: on the chain being walked, 2: known to end.
    let mut seen = vec![0_u8; table.len()];
    for start in 0..table.len() {
        let mut walked = Vec::new();
        let mut at = start;
        while seen[at] == 0 {
            seen[at] = 1;
            walked.push(at);
            let next = table[at];
            if next >= FIRST_MARK {
                break;
            }
            at = next as usize;
            if at >= table.len() || seen[at] == 1 {
                return false;
            }
        }
        walked.into_iter().for_each(|i| seen[i] = 2);
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chain_ends_or_does_not() {
        const END: u32 = 0xffff_fffe;
        assert!(ends(&[1, 2, END, 1]));
        assert!(!ends(&[1, 2, 0]));
        assert!(!ends(&[0]));
        assert!(!ends(&[7]));
        assert!(ends(&[]));
    }
}
