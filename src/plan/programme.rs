//! In which order the pits are dug and the drives bored, by one rig and one pit crew, and how long that takes.

use super::{Bore, CostItem, Pit, Task, TaskKind};
use crate::{job::Job, pits::Dig};
use std::collections::{BTreeMap, BTreeSet};

/// The tasks by the day on which they begin.
///
/// Drives are bored from the outfall up, in the order of `bores`, which must be that of their routes with every route after the
/// one that it joins: so what is laid can drain. All drives launched from one pit are bored one after another before the rig
/// moves. The pit crew digs for one launch pit ahead of the rig, then builds the manholes of, fills and puts back the pits whose
/// drives are all bored. A drive begins when both its pits are dug. One rig, one pit crew; test holes come before all of it and
/// are not in it.
pub fn programme(job: &Job, pits: &[Pit], bores: &[&Bore], costs: &[CostItem]) -> Vec<Task> {
    let new_manholes = costs.iter().filter(|c| c.item == "manhole_base");
    let mut site = Yard {
        job,
        pits: pits.iter().map(|p| (p.pit_id.as_str(), p)).collect(),
        new_manholes: new_manholes.filter_map(|c| c.pit_id.as_deref()).collect(),
        left: BTreeMap::new(),
        dug: BTreeMap::new(),
        pit_crew: 0.0,
        rig: 0.0,
        tasks: vec![],
    };
    for bore in bores {
        for id in [&bore.us_pit, &bore.ds_pit] {
            *site.left.entry(id.as_str()).or_default() += 1;
        }
    }
    let groups = by_launch_pit(bores);
    for (k, group) in groups.iter().enumerate() {
        if k == 0 {
            site.dig(group);
        }
        if let Some(next) = groups.get(k + 1) {
            site.dig(next);
        }
        if k > 0 {
            site.move_rig(group[0]);
        }
        let ready: Vec<(&str, f64)> = group.iter().flat_map(|b| site.bore(b)).collect();
        ready
            .into_iter()
            .for_each(|(pit, day)| site.close(pit, day));
    }
    let mut tasks = site.tasks;
    // The sort is stable: what begins at one time stays in the order in which it was thought of.
    tasks.sort_by(|a, b| a.from_day.total_cmp(&b.from_day));
    for (i, t) in tasks.iter_mut().enumerate() {
        t.step = i as u32 + 1;
    }
    tasks
}

/// Drives by the pit that launches them, in the order in which each pit's first comes.
fn by_launch_pit<'a>(bores: &[&'a Bore]) -> Vec<Vec<&'a Bore>> {
    let mut groups: Vec<Vec<&Bore>> = vec![];
    let mut of_pit: BTreeMap<&str, usize> = BTreeMap::new();
    for bore in bores {
        let group = *of_pit.entry(&bore.launch_pit).or_insert(groups.len());
        match groups.get_mut(group) {
            Some(others) => others.push(bore),
            None => groups.push(vec![bore]),
        }
    }
    groups
}

/// Where the work stands.
struct Yard<'a> {
    job: &'a Job,
    pits: BTreeMap<&'a str, &'a Pit>,
    new_manholes: BTreeSet<&'a str>,
    /// Drives still to be bored at each pit.
    left: BTreeMap<&'a str, u32>,
    /// Day on which each pit is dug.
    dug: BTreeMap<&'a str, f64>,
    /// Days on which the crews are free.
    pit_crew: f64,
    rig: f64,
    tasks: Vec<Task>,
}

impl<'a> Yard<'a> {
    fn note(&mut self, task: TaskKind, route: &str, of: [Option<&str>; 2], days: [f64; 2]) {
        let [pit_id, bore_id] = of.map(|id| id.map(String::from));
        self.tasks.push(Task {
            step: 0,
            task,
            route_id: route.to_string(),
            pit_id,
            bore_id,
            from_day: days[0],
            to_day: days[1],
        });
    }

    /// Digs what the drives of a launch pit need: that pit first.
    fn dig(&mut self, group: &[&'a Bore]) {
        let launch = group.iter().take(1).map(|b| b.launch_pit.as_str());
        let needed: Vec<&str> = launch
            .chain(group.iter().map(|b| b.reception_pit.as_str()))
            .collect();
        for id in needed {
            let Some(pit) = self.pits.get(id).copied() else {
                continue;
            };
            if self.dug.contains_key(id) {
                continue;
            }
            let rate = match pit.dig {
                Dig::Machine => self.job.programme.pit_m3_per_day,
                Dig::Hand => self.job.programme.hand_m3_per_day,
            };
            let from = self.pit_crew;
            self.pit_crew += pit.volume_m3 / rate;
            self.dug.insert(id, self.pit_crew);
            self.note(
                TaskKind::Dig,
                &pit.route_id,
                [Some(id), None],
                [from, self.pit_crew],
            );
        }
    }

    fn move_rig(&mut self, to: &'a Bore) {
        let from = self.rig;
        self.rig += self.job.programme.move_days;
        let pit = Some(to.launch_pit.as_str());
        self.note(TaskKind::Move, &to.route_id, [pit, None], [from, self.rig]);
    }

    /// Bores a drive; says which of its pits are then done with, and when.
    fn bore(&mut self, bore: &'a Bore) -> Vec<(&'a str, f64)> {
        let pits = [bore.launch_pit.as_str(), bore.reception_pit.as_str()];
        let dug = pits.map(|id| self.dug.get(id).copied().unwrap_or(0.0));
        let from = dug.into_iter().fold(self.rig, f64::max);
        self.rig = from + bore.days;
        let of = [Some(pits[0]), Some(bore.bore_id.as_str())];
        self.note(TaskKind::Bore, &bore.route_id, of, [from, self.rig]);
        let mut done = vec![];
        for id in pits {
            let left = self.left.entry(id).or_default();
            *left = left.saturating_sub(1);
            if *left == 0 {
                done.push((id, self.rig));
            }
        }
        done
    }

    /// Builds the manhole of a pit, fills it and puts its surface back.
    fn close(&mut self, id: &'a str, ready: f64) {
        let Some(pit) = self.pits.get(id).copied() else {
            return;
        };
        self.pit_crew = self.pit_crew.max(ready);
        let p = &self.job.programme;
        let mut steps = vec![(TaskKind::Close, p.close_pit_days)];
        if self.new_manholes.contains(id) {
            steps.insert(0, (TaskKind::Manhole, p.manhole_days));
        }
        for (task, days) in steps {
            let from = self.pit_crew;
            self.pit_crew += days;
            self.note(task, &pit.route_id, [Some(id), None], [from, self.pit_crew]);
        }
    }
}
