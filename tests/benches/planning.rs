//! How long a whole plan takes, in process: one route beside many services, more routes, more threads.

#[path = "../properties/chance.rs"]
mod chance;
mod town;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use pitwright::{
    job::{Job, JobFile},
    plan::{Quiet, plan},
    site::Site,
};
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::time::Duration;
use town::{Size, town};

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

fn one_route(c: &mut Criterion) {
    let site = town(
        Size {
            streets: 1,
            length_m: 300.0,
            services_each: 200,
        },
        7,
    );
    let job = JobFile::default().job;
    checked(&site, &job);
    let mut group = c.benchmark_group("one route");
    group
        .sample_size(10)
        .measurement_time(Duration::from_secs(15));
    group.bench_function("300 m, 200 services, 1 thread", |b| {
        threads(1).install(|| b.iter(|| plan(&site, &job, &Quiet)));
    });
    group.finish();
}

fn more_routes(c: &mut Criterion) {
    let job = JobFile::default().job;
    let mut group = c.benchmark_group("routes of 100 m, 1 thread");
    group
        .sample_size(10)
        .measurement_time(Duration::from_secs(10));
    for n in [1, 2, 4, 8, 16, 32] {
        let site = streets(n);
        checked(&site, &job);
        group.throughput(Throughput::Elements(n as u64));
        group.bench_function(BenchmarkId::from_parameter(n), |b| {
            threads(1).install(|| b.iter(|| plan(&site, &job, &Quiet)));
        });
    }
    group.finish();
}

fn more_threads(c: &mut Criterion) {
    let job = JobFile::default().job;
    let site = streets(32);
    let mut group = c.benchmark_group("32 routes of 100 m, threads");
    group
        .sample_size(10)
        .measurement_time(Duration::from_secs(10))
        .throughput(Throughput::Elements(32));
    for n in [1, 2] {
        group.bench_function(BenchmarkId::from_parameter(n), |b| {
            threads(n).install(|| b.iter(|| plan(&site, &job, &Quiet)));
        });
    }
    group.finish();
}

criterion_group!(benches, one_route, more_routes, more_threads);
criterion_main!(benches);
