//! Finding the fewest of many things that make a change.
//!
//! All of this rests on one property of `works`: whatever works for some things works for more. A thing taken out of the way
//! can only add lawful pits and drives.

use super::budget::Spent;

/// Does a change of these things give what is asked for?
pub type Works<'f, T> = dyn FnMut(&[T]) -> Result<bool, Spent> + 'f;

/// The first of the things that works alone.
///
/// Where half of them together do not work, none of that half does.
pub fn first_alone<T: Copy>(things: &[T], works: &mut Works<T>) -> Result<Option<T>, Spent> {
    if things.is_empty() || !works(things)? {
        return Ok(None);
    }
    if let [only] = things {
        return Ok(Some(*only));
    }
    let (first, rest) = things.split_at(things.len().div_ceil(2));
    match first_alone(first, works)? {
        Some(found) => Ok(Some(found)),
        None => first_alone(rest, works),
    }
}

/// Things that work together, none of which can be left out; none where not even all work. Nothing at all must not work.
///
/// The shortest beginning of the list that works with what is chosen needs its last thing: that is chosen. It goes on until
/// what is chosen works. A thing chosen early stays needed: without it not even the whole beginning before it worked.
pub fn irreducible<T: Copy>(things: &[T], works: &mut Works<T>) -> Result<Option<Vec<T>>, Spent> {
    if things.is_empty() || !works(things)? {
        return Ok(None);
    }
    let (mut chosen, mut left) = (vec![], things);
    loop {
        let (mut too_few, mut enough) = (0, left.len());
        while too_few + 1 < enough {
            let middle = (too_few + enough) / 2;
            let with: Vec<T> = chosen.iter().chain(&left[..middle]).copied().collect();
            if works(&with)? {
                enough = middle;
            } else {
                too_few = middle;
            }
        }
        chosen.push(left[enough - 1]);
        left = &left[..enough - 1];
        if left.is_empty() || works(&chosen)? {
            return Ok(Some(chosen));
        }
    }
}

/// As few of the things as work together; none where not even all do.
///
/// Smaller sets than an irreducible one are tried one by one, the first in the order of the list is taken; no more than
/// a fixed number of them, and no longer than the budget lasts. What is found then may not be the fewest, but none of it can be left out.
pub fn fewest<T: Copy>(things: &[T], works: &mut Works<T>) -> Result<Option<Vec<T>>, Spent> {
    const MOST_TRIED: usize = 200;
    let Some(chosen) = irreducible(things, works)? else {
        return Ok(None);
    };
    if chosen.len() < 2 {
        return Ok(Some(chosen));
    }
    let mut tried = 0;
    match first_alone(things, works) {
        Ok(Some(one)) => return Ok(Some(vec![one])),
        Ok(None) => {}
        Err(Spent) => return Ok(Some(chosen)),
    }
    for size in 2..chosen.len() {
        let mut next = Some((0..size).collect::<Vec<usize>>());
        while let Some(at) = next {
            let set: Vec<T> = at.iter().map(|i| things[*i]).collect();
            tried += 1;
            match works(&set) {
                Ok(true) => return Ok(Some(set)),
                Ok(false) if tried < MOST_TRIED => {}
                _ => return Ok(Some(chosen)),
            }
            next = following(at, things.len());
        }
    }
    Ok(Some(chosen))
}

/// The next choice of as many out of `n`, in lexicographic order.
fn following(mut at: Vec<usize>, n: usize) -> Option<Vec<usize>> {
    let size = at.len();
    let moves = (0..size).rev().find(|i| at[*i] + size - i < n)?;
    at[moves] += 1;
    for i in moves + 1..size {
        at[i] = at[i - 1] + 1;
    }
    Some(at)
}

/// The least whole number above `no` and up to `yes` at which something works, given that it works at `yes`, does not at
/// `no`, and works at every number above one at which it works.
pub fn least(
    no: i64,
    yes: i64,
    works: &mut dyn FnMut(i64) -> Result<bool, Spent>,
) -> Result<i64, Spent> {
    let (mut no, mut yes) = (no, yes);
    while no + 1 < yes {
        let middle = no + (yes - no) / 2;
        if works(middle)? {
            yes = middle;
        } else {
            no = middle;
        }
    }
    Ok(yes)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Works where all of one of the sets are there.
    fn any_of(sets: &'static [&'static [u32]]) -> impl FnMut(&[u32]) -> Result<bool, Spent> {
        move |with| Ok(sets.iter().any(|s| s.iter().all(|x| with.contains(x))))
    }

    const ALL: [u32; 7] = [1, 2, 3, 4, 5, 6, 7];

    #[test]
    fn the_first_that_works_alone() {
        assert_eq!(first_alone(&ALL, &mut any_of(&[&[6], &[4]])), Ok(Some(4)));
        assert_eq!(first_alone(&ALL, &mut any_of(&[&[6, 4]])), Ok(None));
        assert_eq!(first_alone(&[], &mut any_of(&[&[]])), Ok(None));
    }

    #[test]
    fn nothing_chosen_can_be_left_out() {
        let mut works = any_of(&[&[2, 3, 6], &[1, 7]]);
        let chosen = irreducible(&ALL, &mut works).unwrap().unwrap();
        assert!(works(&chosen).unwrap());
        for left_out in &chosen {
            let rest: Vec<u32> = chosen.iter().filter(|c| *c != left_out).copied().collect();
            assert!(!works(&rest).unwrap());
        }
        assert_eq!(irreducible(&ALL, &mut any_of(&[&[8]])), Ok(None));
    }

    #[test]
    fn the_fewest_are_the_fewest() {
        let fewest = |sets| fewest(&ALL, &mut any_of(sets)).unwrap();
        assert_eq!(fewest(&[&[1, 2, 3], &[5, 7]]), Some(vec![5, 7]));
        assert_eq!(fewest(&[&[1, 2, 3], &[7]]), Some(vec![7]));
        assert_eq!(fewest(&[&[9]]), None);
    }

    #[test]
    fn the_least_number() {
        assert_eq!(least(3, 50, &mut |n| Ok(n >= 17)), Ok(17));
        assert_eq!(least(3, 4, &mut |_| unreachable!()), Ok(4));
    }
}
