//! The name that was probably meant.

/// The candidate nearest to a misspelled name: within about a third of its length, letter case counted little. None
/// where nothing is near, or where two are equally near.
pub fn nearest<'c>(name: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let folded = name.to_lowercase();
    let allowed = (name.chars().count() / 3).max(1);
    let mut best: Option<(usize, &str)> = None;
    let mut tied = false;
    for candidate in candidates {
        if candidate == name || candidate.len().abs_diff(name.len()) > allowed * 4 {
            continue;
        }
        let distance = strsim::osa_distance(&folded, &candidate.to_lowercase());
        if distance > allowed {
            continue;
        }
        match best {
            Some((so_far, held)) if distance == so_far => tied |= held != candidate,
            Some((so_far, _)) if distance > so_far => {}
            _ => {
                best = Some((distance, candidate));
                tied = false;
            }
        }
    }
    best.filter(|_| !tied).map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_of_the_finger_is_understood() {
        assert_eq!(nearest("Bertsh", ["Berths", "Pilots"]), Some("Berths"));
        assert_eq!(nearest("colour_code", ["color_code", "slot"]), Some("color_code"));
        assert_eq!(nearest("berths", ["Berths", "Pilots"]), Some("Berths"));
    }

    #[test]
    fn nothing_is_guessed_from_afar_or_between_two() {
        assert_eq!(nearest("Engineering", ["Berths", "Pilots"]), None);
        assert_eq!(nearest("Crane 3", ["Crane 1", "Crane 2"]), None);
    }
}
