//! A fleet from a sheet: rows of a CSV file (RFC 4180; commas, semicolons or tabs) read as radios, each cell with its place.

use std::ops::Range;

use guywire_text::{Document, Entry, Item, Key, Span, Table, Value};

use crate::language::{TableSpec, Type};

/// A cell of a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Cell {
    /// Bytes of the sheet, quotes included.
    pub bytes: Range<usize>,
    pub text: String,
}

/// What is wrong with a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, thiserror::Error)]
pub enum SheetProblem {
    /// A quoted cell does not end.
    #[error("a quoted cell begins here and does not end: write the closing quote")]
    OpenQuote,
    /// Something follows the closing quote of a cell.
    #[error("text stands after the closing quote of this cell: double a quote that belongs to the text")]
    AfterQuote,
    /// A row has more cells than the first row has columns.
    #[error(
        "this row has more cells than there are columns, so which cell is which is not known: put text with a separator in quotes"
    )]
    TooManyCells,
    /// A row has fewer cells than the first row has columns.
    #[error(
        "this row has fewer cells than there are columns, so which cell is which is not known: leave cells empty, not out"
    )]
    TooFewCells,
    /// Two columns have one name.
    #[error("two columns have this name, so which one counts is not known: rename one")]
    ColumnTwice,
}

/// A sheet cut into cells: the first row gives the names of the columns.
#[derive(Debug, Default)]
pub(crate) struct Sheet {
    pub columns: Vec<Cell>,
    pub rows: Vec<Vec<Cell>>,
    pub problems: Vec<(Range<usize>, SheetProblem)>,
}

/// Cuts a sheet. Never fails: a row that cannot be cut into its columns is told and left out.
pub(crate) fn cut(text: &str) -> Sheet {
    let mut sheet = Sheet::default();
    let start = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let separator = separator(&text[start..]);
    let mut at = start;
    while at < text.len() {
        let (cells, next) = row(text, at, separator, &mut sheet.problems);
        at = next;
        let blank = cells.iter().all(|cell| cell.text.trim().is_empty());
        if blank {
            continue;
        }
        if sheet.columns.is_empty() {
            name_columns(cells, &mut sheet);
            continue;
        }
        let whole = cells[0].bytes.start..cells[cells.len() - 1].bytes.end;
        match cells.len().cmp(&sheet.columns.len()) {
            std::cmp::Ordering::Equal => sheet.rows.push(cells),
            std::cmp::Ordering::Greater => sheet.problems.push((whole, SheetProblem::TooManyCells)),
            std::cmp::Ordering::Less => sheet.problems.push((whole, SheetProblem::TooFewCells)),
        }
    }
    sheet
}

fn name_columns(cells: Vec<Cell>, sheet: &mut Sheet) {
    for (number, cell) in cells.iter().enumerate() {
        if cells[..number].iter().any(|other| other.text.trim() == cell.text.trim()) {
            sheet.problems.push((cell.bytes.clone(), SheetProblem::ColumnTwice));
        }
    }
    sheet.columns = cells;
}

/// What stands between cells: whichever the first line has most of.
fn separator(text: &str) -> char {
    let first = text.lines().next().unwrap_or_default();
    [',', ';', '\t'].into_iter().rev().max_by_key(|letter| first.matches(*letter).count()).unwrap_or(',')
}

/// The cells of the row that starts at a byte, and where the next row starts.
fn row(
    text: &str,
    start: usize,
    separator: char,
    problems: &mut Vec<(Range<usize>, SheetProblem)>,
) -> (Vec<Cell>, usize) {
    let mut cells = Vec::new();
    let mut at = start;
    loop {
        let cell =
            if text[at..].starts_with('"') { quoted(text, at, separator, problems) } else { bare(text, at, separator) };
        at = cell.bytes.end;
        cells.push(cell);
        if text[at..].starts_with(separator) {
            at += separator.len_utf8();
            continue;
        }
        let end = if text[at..].starts_with("\r\n") { 2 } else { usize::from(at < text.len()) };
        return (cells, at + end);
    }
}

fn bare(text: &str, start: usize, separator: char) -> Cell {
    let end = text[start..].find([separator, '\n', '\r']).map_or(text.len(), |at| start + at);
    Cell { bytes: start..end, text: text[start..end].to_owned() }
}

fn quoted(text: &str, start: usize, separator: char, problems: &mut Vec<(Range<usize>, SheetProblem)>) -> Cell {
    let mut inside = String::new();
    let mut at = start + 1;
    loop {
        let Some(quote) = text[at..].find('"').map(|found| at + found) else {
            // The cell ends with its line, so that one slip costs one row.
            let end = text[start..].find(['\n', '\r']).map_or(text.len(), |found| start + found);
            problems.push((start..end, SheetProblem::OpenQuote));
            return Cell { bytes: start..end, text: String::new() };
        };
        inside.push_str(&text[at..quote]);
        at = quote + 1;
        if text[at..].starts_with('"') {
            inside.push('"');
            at += 1;
            continue;
        }
        let end = text[at..].find([separator, '\n', '\r']).map_or(text.len(), |found| at + found);
        if !text[at..end].trim().is_empty() {
            problems.push((start..end, SheetProblem::AfterQuote));
        }
        return Cell { bytes: start..end, text: inside };
    }
}

/// A text in a cell of a sheet, where a cell may hold several.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CellPart {
    /// Bytes of the cell as it is written, quotes counted.
    pub bytes: Range<usize>,
    /// The text, without the quotes and blanks around it.
    pub text: String,
}

/// The texts of a cell as it is written, quotes included; one where it is no list. Each is what the value of that number
/// is read from.
pub fn cell_parts(written: &str, list: bool) -> Vec<CellPart> {
    let quoted = written.starts_with('"');
    let mut letters: Vec<(Range<usize>, char)> = Vec::with_capacity(written.len());
    let mut at = usize::from(quoted);
    while let Some(letter) = written[at..].chars().next() {
        let doubled = quoted && written[at..].starts_with("\"\"");
        if quoted && letter == '"' && !doubled {
            break;
        }
        let end = at + if doubled { 2 } else { letter.len_utf8() };
        letters.push((at..end, letter));
        at = end;
    }
    let parts = letters.split(|(_, letter)| list && matches!(letter, ';' | '|'));
    parts
        .filter_map(|part| {
            let is_text = |(_, letter): &(Range<usize>, char)| !letter.is_whitespace();
            let (first, last) = (part.iter().position(is_text)?, part.iter().rposition(is_text)?);
            let text = part[first..=last].iter().map(|(_, letter)| letter).collect();
            Some(CellPart { bytes: part[first].0.start..part[last].0.end, text })
        })
        .collect()
}

/// A row as a table of the language: each cell as the value that its key takes. Empty cells are keys that are not there.
/// `keys` gives the key of each column, where it has one.
pub(crate) fn table(
    document: &Document,
    row: &[Cell],
    keys: &[Option<&'static str>],
    spec: &'static TableSpec,
) -> Option<(Table, Span)> {
    let span = |bytes: &Range<usize>| -> Span {
        let (block, start) = document.at(bytes.start);
        Span { block, start, end: start + (bytes.end - bytes.start) as u32 }
    };
    let mut entries: Vec<Entry> = Vec::with_capacity(row.len());
    for (cell, key) in row.iter().zip(keys) {
        let Some(about) = key.and_then(|key| spec.field(key)).map(|field| spec.key(field)) else { continue };
        let text = cell.text.trim();
        if text.is_empty() {
            continue;
        }
        let at = span(&cell.bytes);
        let value = Item { span: at, value: typed(text, &about.value, at) };
        entries.push(Entry { key: Key { text: about.name.into(), span: at }, value });
    }
    let first = row.first()?;
    Some((Table { headers: Vec::new(), entries, broken: false }, span(&first.bytes)))
}

fn typed(text: &str, form: &Type, at: Span) -> Value {
    match form {
        Type::Whole(..) => text.parse().map_or_else(|_| Value::String(text.into()), Value::Integer),
        Type::Number(..) | Type::Megahertz | Type::Kilohertz => match text.parse::<f64>() {
            Ok(_) => Value::Float(text.into()),
            Err(_) => Value::String(text.into()),
        },
        Type::Truth => match text.to_ascii_lowercase().as_str() {
            "true" | "yes" => Value::Boolean(true),
            "false" | "no" => Value::Boolean(false),
            _ => Value::String(text.into()),
        },
        Type::Date => text.parse().map_or_else(|_| Value::String(text.into()), Value::Datetime),
        Type::List(inner) | Type::OneOrMore(inner) => {
            let parts = text.split([';', '|']).map(str::trim).filter(|part| !part.is_empty());
            Value::Array(parts.map(|part| Item { span: at, value: typed(part, inner, at) }).collect())
        }
        _ => Value::String(text.into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(sheet: &Sheet) -> Vec<Vec<&str>> {
        sheet.rows.iter().map(|row| row.iter().map(|cell| cell.text.as_str()).collect()).collect()
    }

    // RFC 4180, section 2, points 5 to 7: quotes, separators and line breaks in cells, doubled quotes.
    #[test]
    fn quoted_cells_hold_separators_breaks_and_quotes() {
        let sheet = cut("aaa,bbb\r\n\"b,1\",\"b \r\nbb\"\r\n\"b\"\"bb\",ccc\r\n");
        assert_eq!(texts(&sheet), [["b,1", "b \r\nbb"], ["b\"bb", "ccc"]]);
        assert!(sheet.problems.is_empty());
    }

    #[test]
    fn semicolons_and_tabs_are_understood() {
        assert_eq!(texts(&cut("Unit;Name\n21007;Quay 1\n")), [["21007", "Quay 1"]]);
        assert_eq!(texts(&cut("Unit\tName\n21007\tQuay, 1")), [["21007", "Quay, 1"]]);
    }

    #[test]
    fn a_bad_row_costs_itself_only() {
        let sheet = cut("Unit,Name\n21007,\"Quay 1\n21008,Quay 2\n21009\n21010,Quay 4,x\n21011,Quay 5\n");
        assert_eq!(texts(&sheet), [["21007", ""], ["21008", "Quay 2"], ["21011", "Quay 5"]]);
        let kinds: Vec<SheetProblem> = sheet.problems.iter().map(|(_, kind)| *kind).collect();
        assert_eq!(kinds, [SheetProblem::OpenQuote, SheetProblem::TooFewCells, SheetProblem::TooManyCells]);
    }

    #[test]
    fn the_texts_of_a_cell_know_their_bytes() {
        let parts = |written, list| -> Vec<(String, String)> {
            cell_parts(written, list).into_iter().map(|part| (written[part.bytes].to_owned(), part.text)).collect()
        };
        let pair = |a: &str, b: &str| (a.to_owned(), b.to_owned());
        assert_eq!(parts(" quay ", false), [pair("quay", "quay")]);
        assert_eq!(parts("\"a \"\"b\"\" ; c|\"", true), [pair("a \"\"b\"\"", "a \"b\""), pair("c", "c")]);
        assert_eq!(parts("a;b", false), [pair("a;b", "a;b")]);
        assert_eq!(parts("\"\"", true), []);
        assert_eq!(parts("\"open", false), [pair("open", "open")]);
    }

    #[test]
    fn cells_know_their_bytes() {
        let text = "\u{feff}Unit,Name\n21007,\"Äpfel\"\n";
        let sheet = cut(text);
        assert_eq!(&text[sheet.rows[0][1].bytes.clone()], "\"Äpfel\"");
        assert_eq!(sheet.columns[0].text, "Unit");
    }
}
