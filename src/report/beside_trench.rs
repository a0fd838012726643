//! What the bores of a route spare beside open trench, and in which order they are bored.

use super::{
    model::{RouteSheet, Task},
    text::{label, money, number, put, words},
};

/// The table of drives, runs and the route, and the order of the work.
pub fn tables(out: &mut String, route: &RouteSheet) {
    compared(out, route);
    programme(out, route);
}

fn compared(out: &mut String, route: &RouteSheet) {
    if route.compared.is_empty() {
        return;
    }
    put!(
        out,
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Bore beside trench of {}\"><table><caption>Bored beside open trench, with a share of the pits and without manholes; what the bore spares is what the trench would break less what the pits break</caption><thead><tr>",
        label(&route.route_id)
    );
    for head in [
        "Of",
        "Length m",
        "Cost, bored",
        "Cost, trench",
        "Break-even m",
        "Driveway spared m²",
        "Paving spared m²",
        "Garden spared m²",
        "Street spared m²",
        "Fences spared",
        "Trees spared",
        "Crew days, bored",
        "Crew days, trench",
        "Yard days, bored",
        "Yard days, trench",
        "Diesel carbon, bored kg",
        "Diesel carbon, trench kg",
    ] {
        put!(out, "<th scope=\"col\">{head}</th>");
    }
    out.push_str("</tr></thead><tbody>");
    for c in &route.compared {
        put!(
            out,
            "<tr><th scope=\"row\">{} {}</th>",
            words(&c.scope),
            words(&c.item_id)
        );
        let even = c.break_even_m.map_or("never".to_string(), |m| number(m, 1));
        let cells = [
            number(c.length_m, 1),
            money(c.cost),
            money(c.trench_cost),
            even,
        ];
        let spared = c.spared.iter().map(|x| number(*x, 1));
        let or_none =
            |x: &Option<f64>, decimals| x.map_or("–".to_string(), |x| number(x, decimals));
        let rest = c.days.iter().map(|d| or_none(d, 1));
        let carbon = c.carbon_kg.iter().map(|kg| or_none(kg, 0));
        let all = cells.into_iter().chain(spared).chain(rest).chain(carbon);
        all.for_each(|cell| put!(out, "<td>{cell}</td>"));
        out.push_str("</tr>");
    }
    out.push_str("</tbody></table></div>");
}

fn programme(out: &mut String, route: &RouteSheet) {
    if route.tasks.is_empty() {
        return;
    }
    put!(
        out,
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Order of the work on {}\"><table><caption>Order of the work by one rig and one pit crew that do all routes; working days from day 0, rates are the job's</caption><thead><tr><th scope=\"col\">Step</th><th scope=\"col\">Task</th><th scope=\"col\">Pit</th><th scope=\"col\">Bore</th><th scope=\"col\">From day</th><th scope=\"col\">To day</th></tr></thead><tbody>",
        label(&route.route_id)
    );
    let said = |id: &Option<String>| id.as_deref().map_or(String::new(), words);
    for Task {
        step,
        task,
        pit_id,
        bore_id,
        from_day,
        to_day,
    } in &route.tasks
    {
        put!(
            out,
            "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
            number(*step, 0),
            words(task),
            said(pit_id),
            said(bore_id),
            number(*from_day, 1),
            number(*to_day, 1)
        );
    }
    out.push_str("</tbody></table></div>");
}
