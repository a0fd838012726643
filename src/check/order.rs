//! The rows of all bores in input order.
//!
//! Services are looked at in their own order, each beside all drives. A drive's rows are those of its services in their order: so all
//! rows are dealt out to the drives, and behind the last drive of a bore come its rows of all else.

use super::{Bores, Checked, CheckedBore, FoundRows, Hole, Unknown, run::Part};
use rayon::prelude::*;

/// What is to be put in order, by falling probability of contact, then by `then`, then by its row.
#[derive(Clone, Copy)]
struct Ranked {
    chance: f64,
    then: u32,
    /// Its row among all.
    row: u32,
    /// A test hole's part and place there.
    at: (u32, u32),
}

/// Puts what was found of services, and of all else, in the order of bores.
pub(super) fn put_together(services: Vec<Part>, rest: Vec<Part>, bores: &Bores) -> Checked {
    let parts: Vec<Part> = services.into_iter().chain(rest).collect();
    let (places, numbers) = dealt(&parts, bores);
    let by_id = places_by_id(bores);
    let (holes, inspections) = rayon::join(
        || holes(&parts, &numbers, &by_id),
        || inspections(&parts, &numbers),
    );
    let verdicts = parts.iter().map(|p| p.verdicts);
    Checked {
        holes,
        inspections,
        connections: parts.iter().map(|p| p.connections).sum(),
        unknown: (parts.iter().map(|p| p.unknown)).fold(Unknown::of(bores), Unknown::and),
        verdicts: verdicts.fold([0; 4], |a, b| std::array::from_fn(|i| a[i] + b[i])),
        found: FoundRows::new(parts.into_iter().map(|p| p.catch.found).collect(), places),
    }
}

/// Of each row in its order, its part and place there; and of each part its rows' numbers in that order.
fn dealt(parts: &[Part], bores: &Bores) -> (Vec<(u32, u32)>, Vec<Vec<u32>>) {
    let mut next = vec![0u32; bores.drives.len() + bores.all.len()];
    let piles = || parts.iter().flat_map(|p| &p.catch.piles);
    piles().for_each(|pile| next[*pile as usize] += 1);
    let mut before = 0;
    for n in &mut next {
        before += std::mem::replace(n, before);
    }
    let mut places = vec![(0, 0); before as usize];
    let numbers = (0..).zip(parts).map(|(part, of)| {
        let number = |(place, pile): (u32, &u32)| {
            let next = &mut next[*pile as usize];
            places[*next as usize] = (part, place);
            *next += 1;
            *next - 1
        };
        (0..).zip(&of.catch.piles).map(number).collect()
    });
    let numbers = numbers.collect();
    (places, numbers)
}

fn holes(parts: &[Part], numbers: &[Vec<u32>], by_id: &[u32]) -> Vec<Hole> {
    let of_part = |(p, part): (usize, &Part)| {
        let rank = |(h, hole): (usize, &Hole)| Ranked {
            chance: part.chances[h],
            then: by_id[part.catch.found[hole.found as usize].bore as usize],
            row: numbers[p][hole.found as usize],
            at: (p as u32, h as u32),
        };
        part.catch.holes.iter().enumerate().map(rank).collect()
    };
    let hole = |r: &Ranked| Hole {
        found: r.row,
        ..parts[r.at.0 as usize].catch.holes[r.at.1 as usize]
    };
    let all = parts.par_iter().enumerate().map(of_part).collect();
    in_order(all).par_iter().map(hole).collect()
}

/// Numbers of the rows to look into after boring.
fn inspections(parts: &[Part], numbers: &[Vec<u32>]) -> Vec<u32> {
    let of_part = |(p, part): (usize, &Part)| {
        let rank = |(chance, place): &(f64, u32)| Ranked {
            chance: *chance,
            then: 0,
            row: numbers[p][*place as usize],
            at: (0, 0),
        };
        part.inspections.iter().map(rank).collect()
    };
    let all = parts.par_iter().enumerate().map(of_part).collect();
    in_order(all).iter().map(|r| r.row).collect()
}

fn in_order(parts: Vec<Vec<Ranked>>) -> Vec<Ranked> {
    let mut all = parts.concat();
    all.par_sort_unstable_by(|a, b| {
        (b.chance.total_cmp(&a.chance)).then_with(|| (a.then, a.row).cmp(&(b.then, b.row)))
    });
    all
}

/// Of each bore, how many have a lesser id.
fn places_by_id(bores: &Bores) -> Vec<u32> {
    let rising = |pair: &[CheckedBore]| pair[0].bore_id < pair[1].bore_id;
    if bores.all.par_windows(2).all(rising) {
        return (0..bores.all.len() as u32).collect();
    }
    let id = |i: &u32| bores.all[*i as usize].bore_id.as_str();
    let mut order: Vec<u32> = (0..bores.all.len() as u32).collect();
    order.par_sort_by(|a, b| id(a).cmp(id(b)));
    let mut places = vec![0; order.len()];
    let mut place = 0;
    for same in order.chunk_by(|a, b| id(a) == id(b)) {
        same.iter().for_each(|i| places[*i as usize] = place);
        place += same.len() as u32;
    }
    places
}
