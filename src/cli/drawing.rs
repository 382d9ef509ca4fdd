//! Small charts for the terminal, of braille signs: each sign holds two by four dots. Without colour, so that it reads the
//! same on any ground; lines differ by how far apart their dots are.

/// Rows of signs.
const ROWS: usize = 13;
/// Room for labels on the left, in signs.
const MARGIN: usize = 9;
/// A wider picture is not easier to read.
const WIDEST: usize = 100;
/// The dots of a sign (Unicode 17, block U+2800), by column and row.
const DOTS: [[u32; 4]; 2] = [[0x01, 0x02, 0x04, 0x40], [0x08, 0x10, 0x20, 0x80]];

/// A picture in the making, from the least to the largest value along each side.
#[derive(Debug, Clone)]
pub struct Drawing {
    x: (f64, f64),
    y: (f64, f64),
    across: usize,
    signs: Vec<u32>,
}

impl Drawing {
    /// An empty picture for a terminal of so many columns; `None` where a side has no length.
    pub fn new(columns: usize, x: (f64, f64), y: (f64, f64)) -> Option<Self> {
        let across = columns.min(WIDEST).saturating_sub(MARGIN + 1);
        let long = |side: (f64, f64)| side.0.is_finite() && side.1.is_finite() && side.0 < side.1;
        (across > 0 && long(x) && long(y)).then(|| Self { x, y, across, signs: vec![0; across * ROWS] })
    }

    /// Dots across, and down.
    fn dots(&self) -> (usize, usize) {
        (2 * self.across, 4 * ROWS)
    }

    fn dot(&mut self, column: usize, row: usize) {
        self.signs[(row / 4) * self.across + column / 2] |= DOTS[column % 2][row % 4];
    }

    /// The row of dots of a value; `None` beyond the picture.
    fn row(&self, y: f64) -> Option<usize> {
        let (low, high) = self.y;
        let last = (self.dots().1 - 1) as f64;
        let row = (last * (high - y) / (high - low)).round();
        (0.0..=last).contains(&row).then_some(row as usize)
    }

    /// The column of dots of a value; `None` beyond the picture.
    fn column(&self, x: f64) -> Option<usize> {
        let (low, high) = self.x;
        let last = (self.dots().0 - 1) as f64;
        let column = (last * (x - low) / (high - low)).round();
        (0.0..=last).contains(&column).then_some(column as usize)
    }

    /// A point, of two by two dots, so that it stands out from lines of dots.
    pub fn point(&mut self, x: f64, y: f64) {
        let Some((column, row)) = self.column(x).zip(self.row(y)) else { return };
        let (across, down) = self.dots();
        for (right, below) in [(0, 0), (1, 0), (0, 1), (1, 1)] {
            self.dot((column + right).min(across - 1), (row + below).min(down - 1));
        }
    }

    /// A line through points by rising x: a dot in every `apart`th column.
    pub fn line(&mut self, points: &[(f64, f64)], apart: usize) {
        let (low, high) = self.x;
        let across = self.dots().0;
        for column in (0..across).step_by(apart) {
            let x = low + (high - low) * column as f64 / (across - 1) as f64;
            let Some(after) = points.iter().position(|p| p.0 >= x) else { continue };
            let (a, b) = (points[after.saturating_sub(1)], points[after]);
            let y = if b.0 > a.0 { a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0) } else { b.1 };
            if let Some(row) = self.row(y) {
                self.dot(column, row);
            }
        }
    }

    /// A level from one x to another: a dot in every `apart`th column.
    pub fn level(&mut self, from: f64, to: f64, y: f64, apart: usize) {
        self.line(&[(from, y), (to, y)], apart);
    }

    /// The picture with its labels: three values beside it, three beneath, and what is to be seen.
    pub fn text(&self, caption: &str, x: impl Fn(f64) -> String, y: impl Fn(f64) -> String) -> String {
        let mut out = format!("{caption}\n");
        for (row, signs) in self.signs.chunks(self.across).enumerate() {
            let (low, high) = self.y;
            let value = high - (high - low) * row as f64 / (ROWS - 1) as f64;
            let label = if [0, ROWS / 2, ROWS - 1].contains(&row) { y(value) } else { String::new() };
            let line: String = signs.iter().filter_map(|dots| char::from_u32(0x2800 + dots)).collect();
            let line = line.trim_end_matches('\u{2800}');
            out += format!("{label:>width$} {line}", width = MARGIN - 1).trim_end();
            out.push('\n');
        }
        let (low, high) = self.x;
        let [first, middle, last] = [low, 0.5 * (low + high), high].map(x);
        let room = |text: &str| text.chars().count();
        let left = (self.across / 2).saturating_sub(room(&first) + room(&middle) / 2);
        let right = self.across.saturating_sub(room(&first) + left + room(&middle) + room(&last));
        out += &format!("{:MARGIN$}{first}{:left$}{middle}{:right$}{last}\n", "", "", "");
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(drawing: &Drawing) -> Vec<String> {
        let text = drawing.text("", |x| format!("{x}"), |y| format!("{y}"));
        text.lines().skip(1).map(str::to_string).collect()
    }

    #[test]
    fn a_rising_line_goes_from_the_lower_left_to_the_upper_right() {
        let mut drawing = Drawing::new(30, (0.0, 10.0), (1.0, 2.0)).unwrap();
        drawing.line(&[(0.0, 1.0), (10.0, 2.0)], 1);
        let lines = drawn(&drawing);
        assert_eq!(lines.len(), ROWS + 1);
        // Twenty signs of two dots: a dot in each column.
        let dots: u32 = drawing.signs.iter().map(|s| s.count_ones()).sum();
        assert_eq!(dots, 40);
        assert!(lines[0].starts_with("       2") && lines[0].ends_with('⠊'), "{lines:?}");
        assert_eq!(lines[ROWS - 1], "       1 ⡠⠁");
        assert_eq!(lines[ROWS], "         0         5       10");
    }

    #[test]
    fn what_lies_beyond_is_left_out_and_nothing_is_drawn_without_length() {
        let mut drawing = Drawing::new(60, (0.0, 1.0), (0.0, 1.0)).unwrap();
        drawing.point(2.0, 0.5);
        drawing.point(0.5, f64::NAN);
        drawing.level(0.0, 1.0, 7.0, 1);
        assert!(drawing.signs.iter().all(|s| *s == 0));
        assert!(Drawing::new(60, (1.0, 1.0), (0.0, 1.0)).is_none());
        assert!(Drawing::new(5, (0.0, 1.0), (0.0, 1.0)).is_none());
        assert!(Drawing::new(60, (0.0, f64::INFINITY), (0.0, 1.0)).is_none());
    }

    #[test]
    fn no_line_is_wider_than_the_terminal() {
        for columns in [60, 80, 240] {
            let mut drawing = Drawing::new(columns, (0.0, 1.0), (0.0, 1.0)).unwrap();
            drawing.level(0.0, 1.0, 1.0, 1);
            let widest = drawn(&drawing).iter().map(|l| l.chars().count()).max();
            assert!(widest <= Some(columns.min(WIDEST)), "{columns}: {widest:?}");
        }
    }
}
