//! Points that are done, or not with a reason: hub and seats, road test, bedding-in, the second
//! person.

use super::Refit;
use crate::cli::World;
use crate::cli::error::Failure;
use crate::cli::open::JobFile;
use crate::job::{Complaint, Corner, Event, Part as Fitted, RefitPoint};
use crate::judge;

impl Refit<'_> {
    /// Asks once a wheel whether hub, seats and threads are ready, before its first torque.
    pub(super) fn prepared(
        &mut self,
        world: &mut World<'_>,
        corner: Corner,
    ) -> Result<bool, Failure> {
        let key = (Some(corner), RefitPoint::Prepared);
        if self.file.job.refit_points.get(&key).is_some_and(|p| p.1) {
            return Ok(true);
        }
        // Wheels that were begun before this was asked are not stopped half way.
        if self.file.job.wheels.contains_key(&corner) {
            return Ok(true);
        }
        self.point(world, Some(corner), RefitPoint::Prepared, true)
    }

    /// Asks one point; a `must` is asked until it is done. `false` when the input ended.
    fn point(
        &mut self,
        world: &mut World<'_>,
        corner: Option<Corner>,
        point: RefitPoint,
        must: bool,
    ) -> Result<bool, Failure> {
        loop {
            let place = corner.map_or_else(String::new, |c| format!("{c}: "));
            let ask = format!("{place}{} > ", point.question());
            let Some((done, reason)) = self.input.yes_no(&self.talk, world, &ask)? else {
                return Ok(false);
            };
            if !done && reason.is_empty() {
                self.talk
                    .say(world, "  no needs its reason: `no` and why, in one line")?;
                continue;
            }
            self.append(
                world,
                &[Event::RefitPoint {
                    corner,
                    point,
                    done,
                    reason,
                }],
            )?;
            if done || !must {
                return Ok(true);
            }
            self.talk
                .say(world, "  noted; the wheel waits until it is so")?;
        }
    }

    /// Road test and bedding-in, done or not with a reason.
    pub(super) fn after(&mut self, world: &mut World<'_>) -> Result<bool, Failure> {
        let asked = |file: &JobFile, point| file.job.refit_points.contains_key(&(None, point));
        let driven = self
            .file
            .job
            .complaint
            .as_ref()
            .is_some_and(|(_, outcome, _)| *outcome != Complaint::NotTried);
        if !driven
            && !asked(&self.file, RefitPoint::RoadTest)
            && !self.point(world, None, RefitPoint::RoadTest, false)?
        {
            return Ok(false);
        }
        let friction = self.file.job.fitted.iter().any(|f| {
            matches!(
                f.part,
                Fitted::Disc | Fitted::Pads | Fitted::Linings | Fitted::Drum
            )
        });
        if friction
            && !asked(&self.file, RefitPoint::BeddingIn)
            && !self.point(world, None, RefitPoint::BeddingIn, false)?
        {
            return Ok(false);
        }
        if self.file.case().policy.torque_second_person.value
            && !asked(&self.file, RefitPoint::SecondPerson)
        {
            let job = judge::judge(&self.file.case()).job;
            self.talk.say(
                world,
                &format!("a second person checks the final torque: brakecorner refit {job} --check --by NAME"),
            )?;
        }
        Ok(true)
    }

    pub(super) fn second_person(&mut self, world: &mut World<'_>) -> Result<(), Failure> {
        let same = self.file.job.log().any(|(meta, event, struck)| {
            !struck && matches!(event, Event::Torque(_)) && meta.by.eq_ignore_ascii_case(&self.by)
        });
        if same {
            return Err(Failure::from(format!(
                "{} torqued a wheel of this job: another person must check it",
                self.by
            ))
            .hint("`--by NAME` names the person who checks"));
        }
        if self.file.job.wheels_torqued.is_none() {
            return Err(Failure::from("no wheel of this job was torqued yet"));
        }
        self.append(
            world,
            &[Event::RefitPoint {
                corner: None,
                point: RefitPoint::SecondPerson,
                done: true,
                reason: String::new(),
            }],
        )
    }
}
