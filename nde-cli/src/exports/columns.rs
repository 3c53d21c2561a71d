//! Text columns that line up.

use crate::talk::{Dress, Paint, harmless};
use std::fmt::Write as _;

/// Which edge of a column is straight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// One cell.
#[derive(Clone, Debug)]
pub(crate) struct Cell {
    text: String,
    paint: Paint,
}

impl Cell {
    /// A cell in a colour.
    #[must_use]
    pub(crate) fn painted(text: &str, paint: Paint) -> Self {
        Self { text: harmless(text), paint }
    }
}

impl<T: AsRef<str>> From<T> for Cell {
    fn from(text: T) -> Self {
        Self::painted(text.as_ref(), Paint::Plain)
    }
}

/// A table: headings, then rows. A last column that is left-aligned is not padded.
#[derive(Debug)]
pub(crate) struct Columns {
    align: Vec<Align>,
    rows: Vec<Vec<Cell>>,
}

impl Columns {
    /// With its headings.
    #[must_use]
    pub(crate) fn new(headings: &[(&str, Align)]) -> Self {
        let row = headings.iter().map(|(text, _)| Cell::painted(text, Paint::Faint)).collect();
        Self { align: headings.iter().map(|(_, align)| *align).collect(), rows: vec![row] }
    }

    /// Adds a row.
    pub(crate) fn push(&mut self, row: Vec<Cell>) {
        debug_assert_eq!(row.len(), self.align.len(), "a row has one cell a column");
        self.rows.push(row);
    }

    /// The table's lines, each behind `indent` spaces.
    #[must_use]
    pub(crate) fn lines(&self, indent: usize, dress: Dress) -> String {
        let width = |column: usize| {
            self.rows.iter().map(|row| row[column].text.chars().count()).max().unwrap_or(0)
        };
        let widths: Vec<usize> = (0..self.align.len()).map(width).collect();
        let mut text = String::new();
        for row in &self.rows {
            let mut line = " ".repeat(indent);
            for (column, cell) in row.iter().enumerate() {
                let gap = " ".repeat(widths[column] - cell.text.chars().count());
                let painted = dress.paint(cell.paint, &cell.text);
                // Writing to a String cannot fail.
                let _ = match self.align[column] {
                    Align::Left => write!(line, "{painted}{gap}"),
                    Align::Right => write!(line, "{gap}{painted}"),
                };
                if column + 1 < row.len() {
                    line.push_str("  ");
                }
            }
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_right_and_words_left() {
        let mut table = Columns::new(&[("id", Align::Left), ("mm", Align::Right)]);
        table.push(vec!["1".into(), "12.50".into()]);
        table.push(vec!["long".into(), "3".into()]);
        assert_eq!(table.lines(1, Dress::Plain), " id       mm\n 1     12.50\n long      3\n");
    }
}
