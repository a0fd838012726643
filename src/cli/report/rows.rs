//! Rows as a file holds them, turned into rows of a report.

use crate::{
    cli::exit::{Exit, Failure},
    read::DrawnRow,
    report::{
        Blocker, Bore, Change, Compared, Conflict, Cost, Hole, Inspection, Pit, SectionPoint, Task,
    },
};
use geo::Coord;
use std::path::Path;

/// A row, and where it was read, for a message.
pub struct Row<'a> {
    pub file: &'a Path,
    pub layer: &'a str,
    pub unit_m: f64,
    pub of: &'a DrawnRow,
}

type Of<T> = Result<T, Failure>;

impl Row<'_> {
    fn lacks(&self, column: &str) -> Failure {
        let message = format!(
            "{}, layer {}, column {column}: a row has no usable value in it; run the command that wrote it again with --replace",
            self.file.display(),
            self.layer
        );
        Failure {
            layer: Some(self.layer.to_string()),
            column: Some(column.to_string()),
            ..Failure::of_file(Exit::Input, self.file, message)
        }
    }

    fn text(&self, column: &str) -> Option<String> {
        self.of.row.text(column)
    }

    fn word(&self, column: &str) -> Of<String> {
        self.text(column).ok_or_else(|| self.lacks(column))
    }

    fn maybe(&self, column: &str) -> Option<f64> {
        self.of.row.number(column).filter(|x| x.is_finite())
    }

    fn number(&self, column: &str) -> Of<f64> {
        self.maybe(column).ok_or_else(|| self.lacks(column))
    }

    fn flag(&self, column: &str) -> Of<bool> {
        Ok(self.number(column)? != 0.0)
    }

    fn fid(&self) -> Option<i64> {
        self.maybe("source_fid").map(|f| f as i64)
    }

    /// Vertices in job metres.
    fn plan(&self) -> Vec<Coord<f64>> {
        let metres = |v: &[f64; 3]| Coord {
            x: v[0] * self.unit_m,
            y: v[1] * self.unit_m,
        };
        self.of.vertices.iter().map(metres).collect()
    }

    fn vertex(&self, i: usize) -> Of<Coord<f64>> {
        let at = self.plan().get(i).copied();
        at.filter(|p| p.x.is_finite() && p.y.is_finite())
            .ok_or_else(|| self.lacks("geom"))
    }

    /// `proposed_pits`; the route it belongs to.
    pub fn pit(&self) -> Of<Pit> {
        self.vertex(0)?;
        Ok(Pit {
            pit_id: self.word("pit_id")?,
            chainage_m: self.number("chainage_m")?,
            offset_m: self.number("offset_m")?,
            role: self.word("role")?,
            manhole: self.flag("manhole")?,
            easting: self.number("easting")?,
            northing: self.number("northing")?,
            ground_m: self.number("ground_m")?,
            invert_m: self.number("invert_m")?,
            floor_m: self.number("floor_m")?,
            depth_m: self.number("depth_m")?,
            length_m: self.number("length_m")?,
            width_m: self.number("width_m")?,
            bearing_deg: self.number("bearing_deg")?,
            dig: self.word("dig")?,
            support: self.flag("support")?,
            surface: self.text("surface"),
            street: self.text("street"),
            lot_id: self.text("lot_id"),
            volume_m3: self.number("volume_m3")?,
            notes: self.text("notes"),
            footprint: self.plan(),
        })
    }

    /// `proposed_bores`.
    pub fn bore(&self) -> Of<Bore> {
        Ok(Bore {
            bore_id: self.word("bore_id")?,
            run_id: self.word("run_id")?,
            us_pit: self.word("us_pit")?,
            ds_pit: self.word("ds_pit")?,
            launch_pit: self.word("launch_pit")?,
            reception_pit: self.word("reception_pit")?,
            dn_mm: self.number("dn_mm")?,
            od_mm: self.number("od_mm")?,
            id_mm: self.number("id_mm")?,
            bore_mm: self.number("bore_mm")?,
            length_m: self.length()?,
            us_invert_m: self.number("us_invert_m")?,
            ds_invert_m: self.number("ds_invert_m")?,
            grade: self.number("grade")?,
            bearing_deg: self.number("bearing_deg")?,
            reach_m: self.number("reach_m")?,
            reach_governed_by: self.word("reach_governed_by")?,
            min_cover_m: self.number("min_cover_m")?,
            min_clearance_m: self.maybe("min_clearance_m"),
            worst_margin_m: self.maybe("worst_margin_m"),
            thrust_low_kn: self.maybe("thrust_low_kn"),
            thrust_kn: self.maybe("thrust_kn"),
            thrust_high_kn: self.maybe("thrust_high_kn"),
            thrust_limit_kn: self.maybe("thrust_limit_kn"),
            tolerance_mm: self.number("tolerance_mm")?,
            predicted_error_mm: self.maybe("predicted_error_mm"),
            level_tolerance_mm: self.maybe("level_tolerance_mm"),
            grade_after_errors: self.maybe("grade_after_errors"),
            settlement_mm: self.maybe("settlement_mm"),
            pilot_heave_mm: self.maybe("pilot_heave_mm"),
            lots_served: self.maybe("lots_served"),
            design_flow_l_s: self.maybe("design_flow_l_s"),
            flow_share: self.maybe("flow_share"),
            flow_depth_mm: self.maybe("flow_depth_mm"),
            flow_velocity_m_s: self.maybe("flow_velocity_m_s"),
            days: self.number("days")?,
            cost: self.number("cost")?,
            trench_cost: self.number("trench_cost")?,
            notes: self.text("notes"),
            us: self.vertex(0)?,
            ds: self.vertex(1)?,
        })
    }

    /// Levels are set out over it, so it is more than nothing.
    fn length(&self) -> Of<f64> {
        let length = self.number("length_m")?;
        if length > 0.0 {
            Ok(length)
        } else {
            Err(self.lacks("length_m"))
        }
    }

    /// `bore_conflicts`.
    pub fn conflict(&self) -> Of<Conflict> {
        Ok(Conflict {
            conflict_id: self.word("conflict_id")?,
            bore_id: self.text("bore_id"),
            pit_id: self.text("pit_id"),
            obstacle: self.word("obstacle")?,
            source_layer: self.text("source_layer"),
            source_fid: self.fid(),
            kind: self.text("kind"),
            owner: self.text("owner"),
            chainage_m: self.maybe("chainage_m"),
            angle_deg: self.maybe("angle_deg"),
            encounter: self.text("encounter"),
            clearance_m: self.number("clearance_m")?,
            required_m: self.number("required_m")?,
            allowance_m: self.number("allowance_m")?,
            margin_m: self.number("margin_m")?,
            p_contact: self.maybe("p_contact"),
            depth_known: self.flag("depth_known")?,
            verdict: self.word("verdict")?,
            rule: self.word("rule")?,
            at: self.vertex(0)?,
            hole: None,
        })
    }

    /// `bore_inspections`.
    pub fn inspection(&self) -> Of<Inspection> {
        Ok(Inspection {
            priority: self.number("priority")? as i64,
            bore_id: self.word("bore_id")?,
            source_layer: self.word("source_layer")?,
            source_fid: self.fid().ok_or_else(|| self.lacks("source_fid"))?,
            kind: self.word("kind")?,
            owner: self.text("owner"),
            chainage_m: self.maybe("chainage_m"),
            clearance_m: self.number("clearance_m")?,
            p_contact: self.maybe("p_contact"),
            quality: self.text("quality"),
            verdict: self.word("verdict")?,
            at: self.vertex(0)?,
        })
    }

    /// `conflict_changes`.
    pub fn change(&self) -> Of<Change> {
        Ok(Change {
            change: self.word("change")?,
            bore_id: self.word("bore_id")?,
            obstacle: self.word("obstacle")?,
            source_layer: self.text("source_layer"),
            source_fid: self.fid(),
            kind: self.text("kind"),
            owner: self.text("owner"),
            chainage_m: self.maybe("chainage_m"),
            verdict_before: self.text("verdict_before"),
            verdict: self.text("verdict"),
            margin_before_m: self.maybe("margin_before_m"),
            margin_m: self.maybe("margin_m"),
        })
    }

    /// `test_holes`.
    pub fn hole(&self) -> Of<Hole> {
        Ok(Hole {
            hole_id: self.word("hole_id")?,
            bore_id: self.word("bore_id")?,
            source_layer: self.word("source_layer")?,
            source_fid: self.fid().ok_or_else(|| self.lacks("source_fid"))?,
            kind: self.word("kind")?,
            expected_depth_m: self.maybe("expected_depth_m"),
            dig_to_m: self.maybe("dig_to_m"),
            priority: self.number("priority")? as i64,
            reason: self.word("reason")?,
            at: self.vertex(0)?,
            ground_m: self.of.vertices[0][2],
        })
    }

    /// `long_sections`.
    pub fn section(&self) -> Of<SectionPoint> {
        Ok(SectionPoint {
            chainage_m: self.number("chainage_m")?,
            ground_m: self.number("ground_m")?,
            invert_m: self.number("invert_m")?,
            crown_m: self.number("crown_m")?,
            cover_m: self.number("cover_m")?,
            bore_id: self.text("bore_id"),
            pit_id: self.text("pit_id"),
            feature: self.word("feature")?,
        })
    }

    /// `cost_items`.
    pub fn cost(&self) -> Of<Cost> {
        Ok(Cost {
            method: self.word("method")?,
            item: self.word("item")?,
            unit: self.word("unit")?,
            quantity: self.number("quantity")?,
            rate: self.number("rate")?,
            amount: self.number("amount")?,
        })
    }

    /// `bore_or_trench`.
    pub fn compared(&self) -> Of<Compared> {
        let spared = |of: &str| self.number(&format!("spared_{of}"));
        Ok(Compared {
            scope: self.word("scope")?,
            item_id: self.word("item_id")?,
            length_m: self.number("length_m")?,
            cost: self.number("cost")?,
            trench_cost: self.number("trench_cost")?,
            break_even_m: self.maybe("break_even_m"),
            spared: [
                spared("driveway_m2")?,
                spared("paving_m2")?,
                spared("garden_m2")?,
                spared("street_m2")?,
                spared("fences")?,
                spared("trees")?,
            ],
            days: ["days", "trench_days", "yard_days", "trench_yard_days"].map(|c| self.maybe(c)),
            carbon_kg: ["carbon_kg", "trench_carbon_kg"].map(|c| self.maybe(c)),
        })
    }

    /// `bore_programme`.
    pub fn task(&self) -> Of<Task> {
        Ok(Task {
            step: self.number("step")?,
            task: self.word("task")?,
            pit_id: self.text("pit_id"),
            bore_id: self.text("bore_id"),
            from_day: self.number("from_day")?,
            to_day: self.number("to_day")?,
        })
    }

    /// `route_blockers`.
    pub fn blocker(&self) -> Of<Blocker> {
        Ok(Blocker {
            from_chainage_m: self.number("from_chainage_m")?,
            to_chainage_m: self.number("to_chainage_m")?,
            why: self.word("why")?,
            source_layer: self.text("source_layer"),
            source_fid: self.fid(),
            remedies: self.text("remedies"),
        })
    }
}
