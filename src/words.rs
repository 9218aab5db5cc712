//! Words at the start of a sentence and within one.

/// The same with a capital first letter.
pub fn first_upper(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The same with a small first letter.
pub fn first_lower(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_first_letter_changes_whatever_the_alphabet() {
        assert_eq!(first_upper("öl und Gas"), "Öl und Gas");
        assert_eq!(first_lower("H-point"), "h-point");
        assert_eq!((first_upper(""), first_lower("")), (String::new(), String::new()));
    }
}
