//! The driving answer as an examiner gives it from the findings, made independently of the program.

use brakecorner::job::{Item, Phase};
use brakecorner::judge::{Finding, ItemVerdict, Judgement, Urgency};

/// May it be driven? From the gravest to the best.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Drive {
    No,
    NotYet,
    NotKnown,
    Until,
    Yes,
}

/// Items whose worst defect means that the vehicle must not be driven.
pub const STOPPING: [Item; 12] = [
    Item::WheelFasteners,
    Item::Hose,
    Item::Pipe,
    Item::CalliperLeak,
    Item::CylinderLeak,
    Item::PadsCondition,
    Item::PadsThickness,
    Item::LiningsThickness,
    Item::DiscSurface,
    Item::AxleImbalance,
    Item::ServiceEfficiency,
    Item::ParkingEfficiency,
];

/// The answer in the state the vehicle leaves in, wheels on and pedal pumped included.
pub fn drive(judgement: &Judgement) -> Drive {
    judgement
        .standing(Phase::AsLeft)
        .map(of)
        .min()
        .unwrap_or(Drive::NotKnown)
}

/// The answer from what may stop a vehicle alone, and from torque and pedal.
pub fn drive_by_stopping(judgement: &Judgement) -> Drive {
    let counts = |item: Item| {
        STOPPING.contains(&item) || matches!(item, Item::TorqueWheel | Item::PedalFirm)
    };
    judgement
        .standing(Phase::AsLeft)
        .filter(|finding| counts(finding.item))
        .map(of)
        .min()
        .unwrap_or(Drive::NotKnown)
}

/// The best answer that one finding allows.
pub fn of(finding: &Finding) -> Drive {
    let open = !matches!(finding.verdict, ItemVerdict::Pass | ItemVerdict::Advise);
    match (&finding.urgency, finding.verdict) {
        (Some(Urgency::Stop), _) => Drive::No,
        (Some(Urgency::BeforeHandover), _) | (_, ItemVerdict::Fail) => Drive::NotYet,
        _ if open && matches!(finding.item, Item::TorqueWheel | Item::PedalFirm) => Drive::NotYet,
        _ if open && STOPPING.contains(&finding.item) => Drive::NotKnown,
        (Some(Urgency::By { .. }), _) => Drive::Until,
        _ => Drive::Yes,
    }
}

/// How grave a finding is: what improves, falls.
pub fn gravity(finding: &Finding) -> u8 {
    match (finding.verdict, &finding.urgency) {
        (ItemVerdict::Pass, _) => 0,
        (ItemVerdict::Advise, _) => 1,
        (ItemVerdict::NotInspected | ItemVerdict::NoLimit, _) => 2,
        (ItemVerdict::Fail, Some(Urgency::Stop)) => 4,
        (ItemVerdict::Fail, _) => 3,
    }
}
