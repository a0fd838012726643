//! What the file of a letter is called.

use super::group::Group;

/// Longest part of a file name that is taken from an owner.
const LONGEST: usize = 40;

/// `03-tarn-gas.txt`: the group's number, which makes it unlike every other, and of the owner what any file system can hold.
pub fn file_name(group: &Group) -> String {
    let mut slug = String::new();
    for c in group.name().chars().flat_map(char::to_lowercase) {
        if c.is_ascii_alphanumeric() {
            slug.push(c);
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    slug.truncate(LONGEST);
    let slug = slug.trim_end_matches('-');
    let slug = if slug.is_empty() { "owner" } else { slug };
    format!("{:03}-{slug}.txt", group.number)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(number: usize, owner: Option<&str>) -> String {
        file_name(&Group {
            number,
            owner,
            entries: vec![],
        })
    }

    #[test]
    fn a_name_holds_nothing_that_a_file_system_minds() {
        assert_eq!(named(3, Some("Tarn Gas & Co.")), "003-tarn-gas-co.txt");
        assert_eq!(named(4, Some("../../etc/passwd")), "004-etc-passwd.txt");
        assert_eq!(named(5, Some("株式会社")), "005-owner.txt");
        assert_eq!(named(12, None), "012-owner-not-known.txt");
        assert!(named(1, Some(&"x".repeat(300))).len() < 60);
    }
}
