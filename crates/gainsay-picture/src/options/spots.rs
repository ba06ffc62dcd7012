//! What is drawn: every plan once, with its level.

use crate::figures;
use gainsay_plan::Price;
use gainsay_plan::options::{OptionsAnswer, Plan, Score};
use gainsay_plan::words::options::plan_short;

/// What a plan is among the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Role {
    /// The plan to follow.
    Follow,
    /// On the frontier.
    Frontier,
    /// As it is, where that is not on the frontier.
    AsItIs,
    /// Without changes to the recording.
    Unchanged,
    /// Right beyond a turning point.
    Reserve,
}

impl Role {
    pub(crate) const ALL: [Self; 5] =
        [Self::Follow, Self::Frontier, Self::AsItIs, Self::Unchanged, Self::Reserve];

    pub(crate) const fn words(self) -> &'static str {
        match self {
            Self::Follow => "the plan to follow",
            Self::Frontier => "the best for its price",
            Self::AsItIs => "as it is",
            Self::Unchanged => "with the recording as planned",
            Self::Reserve => "in reserve: right if a figure is other than taken",
        }
    }
}

/// A plan and its place.
pub(crate) struct Spot<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) role: Role,
    /// Index of its result among all results, the worst first.
    pub(crate) level: usize,
}

impl Spot<'_> {
    pub(crate) fn name(&self) -> String {
        if self.plan.changes.is_empty() { "As it is".to_owned() } else { plan_short(self.plan) }
    }

    pub(crate) fn chance(&self) -> String {
        figures::percent(self.plan.chance_enough)
    }
}

/// All plans, from the cheapest on.
pub(crate) struct Spots<'a> {
    pub(crate) all: Vec<Spot<'a>>,
    /// Results that there are, the worst first.
    pub(crate) levels: Vec<Score>,
    /// How many plans are not drawn.
    pub(crate) left_out: usize,
}

impl<'a> Spots<'a> {
    pub(crate) fn new(answer: &'a OptionsAnswer, most: usize) -> Self {
        let mut plans: Vec<(&Plan, Role)> = Vec::new();
        for (index, plan) in answer.frontier.iter().enumerate() {
            plans.push((plan, if index == answer.recommended { Role::Follow } else { Role::Frontier }));
        }
        let others = std::iter::once((&answer.today, Role::AsItIs))
            .chain(answer.without_changes.iter().map(|plan| (plan, Role::Unchanged)))
            .chain(answer.reserves.iter().map(|plan| (plan, Role::Reserve)));
        for (plan, role) in others {
            if !plans.iter().any(|(known, _)| known.words == plan.words && known.price == plan.price) {
                plans.push((plan, role));
            }
        }
        // What to follow is drawn whatever else has no room.
        plans.sort_by_key(|(_, role)| *role != Role::Follow);
        let left_out = plans.len().saturating_sub(most.max(1));
        plans.truncate(most.max(1));
        let mut levels: Vec<Score> = plans.iter().map(|(plan, _)| plan.result).collect();
        levels.sort_unstable();
        levels.dedup();
        levels.reverse();
        let mut all: Vec<Spot<'_>> = plans
            .into_iter()
            .map(|(plan, role)| {
                let level = levels.iter().position(|score| *score == plan.result).unwrap_or(0);
                Spot { plan, role, level }
            })
            .collect();
        all.sort_by_key(|spot| (spot.plan.price, spot.level));
        Self { all, levels, left_out }
    }

    pub(crate) fn has(&self, role: Role) -> bool {
        self.all.iter().any(|spot| spot.role == role)
    }

    /// The plans that a line in steps joins, from the cheapest on.
    pub(crate) fn steps(&self, unchanged: bool) -> Vec<&Spot<'a>> {
        let of_line = |spot: &&Spot<'_>| match spot.role {
            Role::Follow | Role::Frontier => !unchanged,
            Role::Unchanged => unchanged,
            // Where nothing changes, what there is comes first.
            Role::AsItIs => unchanged && self.has(Role::Unchanged),
            Role::Reserve => false,
        };
        self.all.iter().filter(of_line).collect()
    }

    pub(crate) fn dearest(&self) -> Price {
        self.all.iter().map(|spot| spot.plan.price).max().unwrap_or_default()
    }
}

/// A result in words, the worst part first.
pub(crate) fn result(score: Score) -> String {
    let parts: Vec<String> =
        [(score.left_out, "without input"), (score.short, "short"), (score.tight, "tight")]
            .into_iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, what)| format!("{count}\u{a0}{}", what.replace(' ', "\u{a0}")))
            .collect();
    if parts.is_empty() { "enough".to_owned() } else { parts.join(", ") }
}
