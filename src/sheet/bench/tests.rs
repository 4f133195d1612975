use super::*;

fn bridge(id: u32, width: f64, cutouts: &str, at: (f64, f64)) -> Finding {
    let message = format!("{width:.2} mm of wood along the grain between cut-outs {cutouts}, 6.8 mm needed");
    let id = format!("bridge-{id}");
    let finding = Finding::new(id, FindingKind::WeakBridge, Severity::Care, message, "widen it to 6.8 mm");
    finding.at(at.into()).measured(width, 6.8)
}

#[test]
fn only_findings_with_equal_figures_are_told_together() {
    let all = [
        bridge(1, 2.55, "1 and 2", (10.0, 20.0)),
        bridge(2, 2.55, "3 and 4", (90.0, 20.0)),
        bridge(3, 2.89, "5 and 6", (10.0, 40.0)),
        bridge(4, 2.89, "7 and 18", (90.0, 40.0)),
    ];
    let ids = |group: &Vec<&Finding>| group.iter().map(|finding| short_name(finding)).collect::<Vec<_>>();
    assert_eq!(grouped(&all).iter().map(ids).collect::<Vec<_>>(), [vec!["B1", "B2"], vec!["B3", "B4"]]);
}

#[test]
fn of_places_told_together_each_names_its_cut_out() {
    let entry = |id: u32, cutout: u32| {
        let message = format!("cut-out {cutout} has no room for an entry hole: 1.27 mm wide at most");
        Finding::new(format!("no-entry-{id}"), FindingKind::NoEntry, Severity::Stop, message, "widen it")
            .at((10.0, 20.0).into())
    };
    let all = [entry(1, 2), entry(2, 4)];
    assert_eq!(grouped(&all).len(), 1, "told together");
    assert_eq!(of_what(&all[1]), " (cut-out 4)");
    let island = "12 mm² of wood falls out of cut-outs 3, 4 and 11";
    let island = Finding::new("island-2", FindingKind::Island, Severity::Stop, island, "bridge it");
    assert_eq!(of_what(&island), " (cut-outs 3, 4 and 11)");
    assert_eq!(of_what(&bridge(1, 2.55, "1 and 2", (10.0, 20.0))), "", "its bar lies between them");
}

#[test]
fn names_are_told_as_far_as_they_are_listed() {
    let alike: Vec<Finding> = (1..=30).map(|id| bridge(id, 2.55, "1 and 2", (10.0, f64::from(id)))).collect();
    let names = names_told(&alike, 8);
    assert!(names.len() == 17 && names.contains("B17") && !names.contains("B18"), "{names:?}");
    let apart: Vec<Finding> = (1..=30).map(|id| bridge(id, f64::from(id), "1 and 2", (10.0, 5.0))).collect();
    assert_eq!(names_told(&apart, 8).len(), 8, "a group each, as many as are told");
}
