//! A forecast, with every number needed to do it again by hand.

use super::{Case, Finding, Step, WEAR};
use crate::job::Item;
use crate::judge::wear::{Evidence, evidence, whole_km};
use crate::judge::{Figure, ForecastResults, Results};
use crate::measure::regression::Line;
use crate::measure::wear::{self, ForecastMethod};
use crate::units::Length;

/// The step of a part with a forecast; `None` for any other item and where there is no forecast.
pub(super) fn step(case: &Case<'_>, finding: &Finding) -> Option<Step> {
    let (Some(Figure::Length(min)), Some(Figure::Length(limit))) = (finding.value, finding.limit)
    else {
        return None;
    };
    if !forecast_known(finding) {
        return None;
    }
    let corner = finding.place.corner()?;
    let u = Length::from_mm(finding.u?)?;
    let about = (corner, finding.item);
    let evidence = evidence(case, about, finding.phase, (min, u));
    let level = case.policy.forecast_confidence.value.share();
    let pace = case.policy.forecast_pace.value.share();
    let step = Step {
        head: vec!["odometer, km", "thickness, mm", "u, mm"],
        rows: rows(&evidence, u),
        ..Step::new("Forecast", WEAR)
    };
    let (forecast, mut lines) = if let (Some(new), [only]) = (evidence.new, &evidence.visits[..]) {
        let forecast = wear::forecast_one_visit_at(new, only, limit, u, level).ok()?;
        let (fitted, size, u_new) = new;
        let margin = forecast.factor * libm::hypot(u_new.mm(), u.mm());
        let km = (only.odometer - fitted).km();
        let lines = vec![
            format!(
                "wear {:.4} mm in {km:.0} km; {:.4} mm left above the limit of {:.4} mm",
                (size - min).mm(),
                (min - limit).mm(),
                limit.mm()
            ),
            format!(
                "lower bound: left·km/(wear + {:.4}·√(u_new² + u²)) = {:.4}·{km:.0}/({:.4} + {margin:.4}) = {} km",
                forecast.factor,
                (min - limit).mm(),
                (size - min).mm(),
                whole_km(forecast.distance_left_lower)
            ),
        ];
        (forecast, lines)
    } else {
        let forecast = wear::forecast_at(&evidence.visits, limit, u, level).ok()?;
        let lines = of_line(&wear::line(&evidence.visits, u)?, &forecast, limit);
        (forecast, lines)
    };
    let bound = whole_km(forecast.distance_left_lower);
    let planned = forecast.at_another_pace(pace);
    lines.push(format!(
        "if it wears {} faster from now on: {bound} km / {:.2} = {} km, planned with",
        case.policy.forecast_pace.value,
        1.0 + pace,
        whole_km(planned.distance_left_lower)
    ));
    Some(lines.into_iter().fold(step, Step::line))
}

fn forecast_known(finding: &Finding) -> bool {
    let wears = matches!(
        finding.item,
        Item::PadsThickness | Item::LiningsThickness | Item::DiscThickness
    );
    let forecast = match &finding.results {
        Some(Results::Friction { forecast, .. }) => Some(forecast),
        Some(Results::Thickness { forecast, .. }) => forecast.as_ref(),
        _ => None,
    };
    wears && matches!(forecast, Some(ForecastResults::Known { .. }))
}

fn rows(evidence: &Evidence, u: Length) -> Vec<Vec<String>> {
    let row = |odometer: crate::units::Distance, thickness: Length, u: Length| {
        vec![
            format!("{:.0}", odometer.km()),
            format!("{:.4}", thickness.mm()),
            format!("{:.4}", u.mm()),
        ]
    };
    let new = evidence
        .new
        .map(|(odometer, size, u)| row(odometer, size, u));
    let visits = evidence
        .visits
        .iter()
        .map(|visit| row(visit.odometer, visit.thickness, visit.u.unwrap_or(u)));
    new.into_iter().chain(visits).collect()
}

/// The line and the equation of its lower bound, with their numbers.
fn of_line(line: &Line, forecast: &wear::Forecast, limit: Length) -> Vec<String> {
    let scatter = forecast.chi_squared.map_or(String::new(), |chi| {
        let nu = forecast.degrees_of_freedom.unwrap_or_default();
        let answer = if forecast.method == ForecastMethod::ResidualSpread {
            "more than the readings' uncertainty explains: it takes their place, times √(sum/degrees)"
        } else {
            "the readings' uncertainty explains it"
        };
        format!("; squares of the residuals over u²: {chi:.4} with {nu} degree(s) of freedom, {answer}")
    });
    let sigma = match forecast.method {
        ForecastMethod::ResidualSpread => line.residual_sd().unwrap_or(1.0),
        _ => 1.0,
    };
    vec![
        format!(
            "line through them, weights 1/u²: mean odometer {:.3} thousand km, mean thickness t = {:.6} mm, slope b = {:.9} mm per 1000 km{scatter}",
            line.centre, line.level, line.slope
        ),
        format!(
            "it meets the limit L = {:.4} mm {} km from now: (L - t)/b beyond the mean odometer, less what was driven since",
            limit.mm(),
            whole_km(forecast.distance_left)
        ),
        format!(
            "lower bound: the smaller X of (t - L + b·X)² = k²·(1/W + X²/S), k = {:.4}, W = {:.4} per mm², S = {:.2}, from the mean odometer: {} km from now",
            forecast.factor * sigma,
            line.weight,
            line.sxx,
            whole_km(forecast.distance_left_lower)
        ),
    ]
}
