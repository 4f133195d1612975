//! Lines and columns of a text, many times over.

/// Finds the line and column of places in a text without reading the text
/// again for each: a file may hold as many settings as it has letters.
#[derive(Clone, Debug)]
pub(super) struct Positions<'t> {
    text: &'t str,
    /// Byte offset of the start of each line.
    starts: Vec<usize>,
    /// Characters before each block of [`BLOCK`] bytes.
    before: Vec<usize>,
}

/// Bytes read over again to find one column, at most. Ours.
const BLOCK: usize = 256;

impl<'t> Positions<'t> {
    pub(super) fn of(text: &'t str) -> Self {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        let mut count = 0;
        let begins = |bytes: &[u8]| bytes.iter().filter(|byte| is_first(**byte)).count();
        let before = text.as_bytes().chunks(BLOCK).map(|block| {
            count += begins(block);
            count - begins(block)
        });
        let before = before.collect();
        Self { text, starts, before }
    }

    /// Line and column, both from 1, of a byte offset.
    pub(super) fn line_column(&self, offset: usize) -> (u32, u32) {
        let offset = offset.min(self.text.len());
        let line = self.starts.partition_point(|start| *start <= offset);
        let start = self.starts.get(line.wrapping_sub(1)).copied().unwrap_or(0);
        (line as u32, (self.characters(offset) - self.characters(start) + 1) as u32)
    }

    /// The text of the line with this byte offset.
    pub(super) fn line(&self, offset: usize) -> &'t str {
        let line = self.starts.partition_point(|start| *start <= offset);
        let start = self.starts.get(line.wrapping_sub(1)).copied().unwrap_or(0);
        self.text[start..].lines().next().unwrap_or_default()
    }

    /// Characters that begin before a byte offset.
    fn characters(&self, offset: usize) -> usize {
        let block = offset / BLOCK;
        let Some(before) = self.before.get(block) else { return self.text.chars().count() };
        before + self.text.as_bytes()[block * BLOCK..offset].iter().filter(|byte| is_first(**byte)).count()
    }
}

/// Whether a byte of UTF-8 begins a character (RFC 3629, 3).
const fn is_first(byte: u8) -> bool {
    byte & 0b1100_0000 != 0b1000_0000
}

#[cfg(test)]
mod tests {
    use super::Positions;

    #[test]
    fn lines_and_columns_count_characters_from_one() {
        let text = format!("a = 1\n# {}\n\nb = \"é\" # x\nc", "é—x".repeat(500));
        let positions = Positions::of(&text);
        for (offset, _) in text.char_indices().chain([(text.len(), ' ')]) {
            let before = &text[..offset];
            let line = before.matches('\n').count() + 1;
            let column = before.rsplit('\n').next().unwrap().chars().count() + 1;
            assert_eq!(positions.line_column(offset), (line as u32, column as u32), "at byte {offset}");
        }
        assert_eq!(Positions::of("").line_column(9), (1, 1), "past the end of nothing");
    }
}
