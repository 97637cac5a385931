//! Lists of many names, short enough to read.

/// Names with numbers in a row as one: `Crane 1 to 4, Yard 2`; at most `most` of them, then how many more.
pub(super) fn listed(names: &[String], most: usize) -> String {
    let mut told: Vec<(String, usize)> = Vec::new();
    let mut at = 0;
    while at < names.len() {
        let row = row(&names[at..]);
        // Two in a row read better by themselves.
        if row < 3 {
            told.push((names[at].clone(), 1));
            at += 1;
            continue;
        }
        let last = &names[at + row - 1];
        let (stem, number) = split(last);
        debug_assert!(last.starts_with(stem), "the stem is a part of the name");
        told.push((format!("{} to {number}", names[at]), row));
        at += row;
    }
    let more: usize = told.iter().skip(most).map(|(_, count)| count).sum();
    let mut shown: Vec<String> = told.into_iter().take(most).map(|(name, _)| name).collect();
    if more > 0 {
        shown.push(format!("and {more} more"));
    }
    shown.join(", ")
}

/// How many of the first names are one stem with numbers that count up by one.
fn row(names: &[String]) -> usize {
    let (stem, first) = split(&names[0]);
    let Ok(start) = first.parse::<u64>() else { return 1 };
    let goes_on = |(step, name): (u64, &String)| {
        let wanted = format!("{:0width$}", start.saturating_add(step), width = first.len());
        split(name) == (stem, &wanted)
    };
    (0..).zip(names).take_while(|pair| goes_on((pair.0, pair.1))).count().max(1)
}

/// A name and the number that it ends with.
fn split(name: &str) -> (&str, &str) {
    name.split_at(name.trim_end_matches(|letter: char| letter.is_ascii_digit()).len())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(names: &[&str], most: usize) -> String {
        listed(&names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>(), most)
    }

    #[test]
    fn numbers_in_a_row_are_one() {
        assert_eq!(told(&["Crane 1", "Crane 2", "Crane 3", "Crane 4", "Yard 2"], 9), "Crane 1 to 4, Yard 2");
        assert_eq!(told(&["Crane 1", "Crane 2", "Crane 4"], 9), "Crane 1, Crane 2, Crane 4");
        assert_eq!(told(&["U098", "U099", "U100", "U101"], 9), "U098 to 101");
        assert_eq!(told(&["U98", "U99", "U100"], 9), "U98 to 100");
        assert_eq!(told(&["a", "b", "c"], 9), "a, b, c");
        assert_eq!(told(&[], 9), "");
    }

    #[test]
    fn of_many_the_rest_is_counted() {
        assert_eq!(told(&["a", "x1", "x2", "x3", "b", "c"], 2), "a, x1 to 3, and 2 more");
    }
}
