//! How long a whole plan takes, in process: one route beside many services, more routes, more threads.

#[path = "../properties/chance.rs"]
mod chance;
mod town;

use divan::{Bencher, counter::ItemsCount};
use pitwright::{
    job::{Job, JobFile},
    plan::{Quiet, plan},
    site::Site,
};
use rayon::{ThreadPool, ThreadPoolBuilder};
use town::{Size, town};

fn main() {
    divan::main();
}

fn threads(n: usize) -> ThreadPool {
    ThreadPoolBuilder::new()
        .num_threads(n)
        .build()
        .expect("threads can be started")
}

fn streets(streets: usize) -> Site {
    town(
        Size {
            streets,
            length_m: 100.0,
            services_each: 40,
        },
        11,
    )
}

/// Plans once before anything is timed: a time is worth nothing if what was timed found no plan.
fn checked(site: &Site, job: &Job) {
    let found = plan(site, job, &Quiet);
    let without: Vec<&str> = found
        .routes
        .iter()
        .filter(|r| !r.planned)
        .map(|r| r.route_id.as_str())
        .collect();
    assert!(without.is_empty(), "no plan for {without:?}");
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn one_route_of_300_m_with_200_services_on_1_thread(b: Bencher) {
    let size = Size {
        streets: 1,
        length_m: 300.0,
        services_each: 200,
    };
    timed(b, &town(size, 7), 1);
}

#[divan::bench(sample_count = 10, sample_size = 1, args = [1, 2, 4, 8, 16, 32])]
fn routes_of_100_m_on_1_thread(b: Bencher, n: usize) {
    timed(b, &streets(n), 1);
}

#[divan::bench(sample_count = 10, sample_size = 1, args = [1, 2])]
fn routes_of_100_m_32_of_them_by_threads(b: Bencher, n: usize) {
    timed(b, &streets(32), n);
}

/// Times the plan of a site on so many threads.
fn timed(b: Bencher, site: &Site, n: usize) {
    let job = JobFile::default().job;
    checked(site, &job);
    let pool = threads(n);
    b.counter(ItemsCount::new(site.routes.len()))
        .bench_local(|| pool.install(|| plan(site, &job, &Quiet)));
}
