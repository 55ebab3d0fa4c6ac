//! Rules of safe and proper work. One table: name, class, what it is and why.
//!
//! A rule counts once a sitting, however often it is broken.

use super::Bay;
use super::action::{Micros, SECOND, SafetyStep};
use super::observation::{Breach, BreachClass};
use crate::language::Msg;
use crate::msg;
use crate::plant::component::Component;

/// Longest dead-head allowed on the card, with the time a hand needs.
const DEAD_HEAD_LIMIT: Micros = 5 * SECOND + SECOND / 2;
/// The same under a pump that has its relief.
const DEAD_HEAD_LIMIT_FED: Micros = 10 * SECOND + SECOND / 2;
/// Pressure in a joint from which fuel sprays when it is opened, Pa.
const SPRAYS_PA: f64 = 50_000.0;
/// Shortest pause between two dead-heads.
const DEAD_HEAD_PAUSE: Micros = 60 * SECOND;
/// Ticks of the control for which the pump may run on air.
const DRY_TICKS: u32 = 100;

/// A rule.
pub struct Rule {
    /// Stable name.
    pub name: &'static str,
    /// How bad a breach is.
    pub class: BreachClass,
    /// What happened and why it matters.
    pub words: Msg,
}

use BreachClass::{Critical, Major, Minor};

const fn rule(name: &'static str, class: BreachClass, words: Msg) -> Rule {
    Rule { name, class, words }
}

/// Every rule this version watches.
pub static RULES: &[Rule] = &[
    rule("no-protection", Major, msg!("bay-rule-no-protection")),
    rule("no-pressure-wait", Major, msg!("bay-rule-no-pressure-wait")),
    rule("petrol-indoors", Critical, msg!("bay-rule-petrol-indoors")),
    rule("petrol-spray", Critical, msg!("bay-rule-petrol-spray")),
    rule("petrol-filler", Major, msg!("bay-rule-petrol-filler")),
    rule("petrol-no-extinguisher", Major, msg!("bay-rule-petrol-no-extinguisher")),
    rule("line-blocked-at-hand-back", Critical, msg!("bay-rule-line-blocked-at-hand-back")),
    rule("dead-head-forbidden", Major, msg!("bay-rule-dead-head-forbidden")),
    rule("old-seal", Major, msg!("bay-rule-old-seal")),
    rule("no-chocks", Major, msg!("bay-rule-no-chocks")),
    rule("dead-head-long", Major, msg!("bay-rule-dead-head-long")),
    rule("dead-head-fast", Major, msg!("bay-rule-dead-head-fast")),
    rule("dead-head-again", Minor, msg!("bay-rule-dead-head-again")),
    rule("pump-dry", Major, msg!("bay-rule-pump-dry")),
    rule("no-leak-check", Major, msg!("bay-rule-no-leak-check")),
    rule("valve-shut-at-hand-back", Critical, msg!("bay-rule-valve-shut-at-hand-back")),
    rule("leak-at-hand-back", Critical, msg!("bay-rule-leak-at-hand-back")),
    rule("no-ventilation", Minor, msg!("bay-rule-no-ventilation")),
    rule("no-extinguisher", Minor, msg!("bay-rule-no-extinguisher")),
    rule("no-tray", Minor, msg!("bay-rule-no-tray")),
    rule("no-zero", Minor, msg!("bay-rule-no-zero")),
    rule("no-source", Minor, msg!("bay-rule-no-source")),
    rule("long-crank", Minor, msg!("bay-rule-long-crank")),
    rule("evidence-lost", Minor, msg!("bay-rule-evidence-lost")),
    rule("tool-left", Minor, msg!("bay-rule-tool-left")),
];

/// The rule with this name.
pub fn by_name(name: &str) -> Option<&'static Rule> {
    RULES.iter().find(|r| r.name == name)
}

/// What was broken so far.
#[derive(Default)]
pub(super) struct Rules {
    breaches: Vec<Breach>,
    pub(super) joints_disturbed: Option<Micros>,
    pub(super) leak_checked: Option<Micros>,
    first_repair: Option<Micros>,
}

impl Rules {
    pub(super) fn breaches(&self) -> &[Breach] {
        &self.breaches
    }

    pub(super) fn first_repair(&self) -> Option<Micros> {
        self.first_repair
    }

    pub(super) fn repaired(&mut self, at: Micros) {
        self.first_repair.get_or_insert(at);
    }
}

impl Bay {
    /// Notes a breach of a rule, once.
    pub(super) fn breach(&mut self, name: &str) {
        if self.rules.breaches.iter().any(|b| b.rule == name) {
            return;
        }
        if let Some(rule) = by_name(name) {
            self.rules.breaches.push(Breach {
                at: self.now(),
                class: rule.class,
                rule: rule.name.into(),
                words: rule.words.said().into(),
            });
        }
    }

    fn require(&mut self, step: SafetyStep, rule: &str) {
        if !self.safety.contains(&step) {
            self.breach(rule);
        }
    }

    /// The card permits shutting the tee's valve under a turning pump where the tee sits.
    pub(super) fn may_dead_head(&self) -> bool {
        let card = self.job.plant.service;
        if self.is_fed_at_tee() { card.blocked_outlet } else { card.blocked_inlet }
    }

    /// The same for a joint.
    pub(super) fn may_dead_head_at(&self, joint: &str) -> bool {
        let card = self.job.plant.service;
        if self.job.plant.is_under_pressure(joint) { card.blocked_outlet } else { card.blocked_inlet }
    }

    /// The tee sits where a pump pushes.
    pub(super) fn is_fed_at_tee(&self) -> bool {
        self.drive.tee().is_some_and(|joint| self.job.plant.is_under_pressure(joint))
    }

    /// Rules for opening the filler of the tank.
    pub(super) fn before_open_filler(&mut self) {
        if self.job.plant.is_petrol() {
            self.require(SafetyStep::Ventilation, "petrol-filler");
        }
    }

    pub(super) fn require_protection(&mut self) {
        self.require(SafetyStep::Protection, "no-protection");
    }

    /// Rules for opening a fuel joint. The worst comes first, so that it is the one reported.
    pub(super) fn before_opening(&mut self, joint: &str) {
        let petrol = self.job.plant.is_petrol();
        if petrol {
            let under = self.drive.gauge_at(0, joint).is_some_and(|pa| pa > SPRAYS_PA);
            if under {
                self.breach("petrol-spray");
            }
            self.require(SafetyStep::Ventilation, "petrol-indoors");
            self.require(SafetyStep::Extinguisher, "petrol-no-extinguisher");
        }
        self.require(SafetyStep::Protection, "no-protection");
        let under = self.drive.gauge_at(0, joint).is_some_and(|pa| pa > super::act::UNDER_PRESSURE_PA);
        if (under || self.control().last_turned.is_some()) && !self.safety.contains(&SafetyStep::PressureAway) {
            self.breach("no-pressure-wait");
        }
        self.require(SafetyStep::Ventilation, "no-ventilation");
        self.require(SafetyStep::Extinguisher, "no-extinguisher");
        self.require(SafetyStep::DripTray, "no-tray");
        self.rules.joints_disturbed = Some(self.now());
    }

    /// Rules for turning the engine.
    pub(super) fn before_cranking(&mut self, secs: f64) {
        self.require(SafetyStep::Chocks, "no-chocks");
        self.require(SafetyStep::Ventilation, "no-ventilation");
        if secs > 15.0 {
            self.breach("long-crank");
        }
        // the engine will be hot and the line under pressure again
        self.safety.remove(&SafetyStep::PressureAway);
    }

    /// Rules for a turning engine, after each tick of its control.
    pub(super) fn while_it_turns(&mut self) {
        let (now, control) = (self.now(), self.control());
        let limit = if self.is_fed_at_tee() { DEAD_HEAD_LIMIT_FED } else { DEAD_HEAD_LIMIT };
        let dry = control.dry_ticks > DRY_TICKS;
        let (mut again, mut long, mut fast) = (false, false, false);
        match control.shut_since {
            Some(since) if since == now => {
                again = control.last_dead_head.is_some_and(|t| now - t < DEAD_HEAD_PAUSE);
            }
            Some(since) => {
                long = now - since > limit;
                fast = control.seen_rpm > 1.3 * control.idle;
            }
            None => {}
        }
        for (broken, rule) in
            [(again, "dead-head-again"), (long, "dead-head-long"), (fast, "dead-head-fast"), (dry, "pump-dry")]
        {
            if broken {
                self.breach(rule);
            }
        }
    }

    /// A lever of the vehicle's own that ought to be open is shut.
    fn is_shut(&self, tap: &str) -> bool {
        let part = self.job.plant.part(tap);
        let ought = part.is_some_and(|p| matches!(&p.is, Component::ShutOffValve(v) if v.lever > 0.5));
        ought && self.drive.tap(0, tap).is_some_and(|open| open < 0.5)
    }

    /// Rules at hand-back.
    pub(super) fn at_hand_back(&mut self) {
        if let Some(open) = self.drive.valve(0) {
            if open < 0.9 {
                self.breach("valve-shut-at-hand-back");
            }
            self.breach("tool-left");
        }
        let shut_by_own = self.drive.taps().any(|tap| self.is_shut(tap));
        if self.drive.is_blocked() || shut_by_own {
            self.breach("line-blocked-at-hand-back");
        }
        if !self.drive.left_on().is_empty() {
            self.breach("tool-left");
        }
        if let Some(disturbed) = self.rules.joints_disturbed {
            if self.rules.leak_checked.is_none_or(|t| t < disturbed) {
                self.breach("no-leak-check");
            } else if !self.drive.hidden(0).own_holes().is_empty() {
                self.breach("leak-at-hand-back");
            }
        }
    }
}
