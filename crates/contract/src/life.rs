//! How long components last, and what that costs.

use crate::define::answer;
use crate::quantity::Quantity;
use crate::service::Cost;
use chrono::NaiveDate;
use model::{
    Code, ComponentId, FittingId, LifeWithheld as WithheldReason, NoDistance, NoLifeLaw, Place, Position,
    VehicleId,
};

answer! {
    /// Why a distance is not known.
    UnknownDistance {
        /// The reason.
        reason: NoDistance,
        /// The same for a person.
        says: String = "no reading has counted since it was fitted",
    }
}

answer! {
    /// A component's time in one place, and what it ran in it.
    FittedTime {
        /// The fitting.
        fitting: FittingId,
        /// The vehicle.
        vehicle: VehicleId,
        /// Where on it.
        place: Place,
        /// From this day.
        from: NaiveDate,
        /// Until this day; null while it is fitted.
        to: Option<NaiveDate> = null,
        /// Days so far, the first one counted and the last one not.
        days: i64 = 118,
        /// Distance run so far, by counted readings: while it is fitted, until the last one. Null where that is not known.
        distance: Option<Quantity> = {"value": 12480, "unit": "km"},
        /// Whether the distance was read off between counted readings, or carried beyond the last, at either end.
        estimated: bool,
        /// Why the distance is not known.
        distance_unknown: Option<UnknownDistance> = null,
    }
}

answer! {
    /// Money over distance.
    CostOverDistance {
        /// How many components.
        components: u32 = 1,
        /// What they cost together.
        cost: Cost = {"minor": 11400, "currency": "EUR"},
        /// What they ran together.
        distance: Quantity = {"value": 38000, "unit": "km"},
        /// Minor units of the currency over each 1,000 of the unit of distance.
        minor_per_1000: f64 = 300,
    }
}

answer! {
    /// The life of one component so far, through all its fittings on all its vehicles.
    ComponentLife {
        /// The component.
        component: ComponentId,
        /// Where it did its work; null if it never did. A spare does none.
        position: Option<Position>,
        /// The times it was fitted, by day.
        fittings: Vec<FittedTime>,
        /// Days fitted at work so far.
        days: i64 = 118,
        /// Distance run at work so far; null where that of one fitting is not known.
        distance: Option<Quantity> = {"value": 12480, "unit": "km"},
        /// Whether any of it is estimated.
        estimated: bool,
        /// Why the distance is not known.
        distance_unknown: Option<UnknownDistance> = null,
        /// What it cost over that distance; null where either is not known. It falls as long as the component runs on.
        cost: Option<CostOverDistance>,
    }
}

answer! {
    /// How many components met one fate.
    FateCount {
        /// What became of them: `fitted` still, `in_store`, `left_with_vehicle`, or the reason for which they were taken off
        /// for good.
        fate: String = "worn",
        /// How many.
        components: u32 = 24,
        /// Whether that counts as the end of a life; otherwise they count as having lasted at least so long.
        ends_life: bool = true,
    }
}

answer! {
    /// Why an achieved life is withheld.
    LifeWithheld {
        /// The reason.
        reason: WithheldReason,
        /// The same for a person.
        says: String = "fewer than 20 removals: 9 so far",
    }
}

answer! {
    /// A distance by which a share of components has reached the end of its life, with its band.
    DistanceReached {
        /// The length; null where nothing was watched long enough to say.
        at: Option<Quantity> = {"value": 38200, "unit": "km"},
        /// It lies above this eight times in ten.
        from: Option<Quantity> = {"value": 36900, "unit": "km"},
        /// It lies below this eight times in ten; null where nothing was watched long enough to say.
        to: Option<Quantity> = {"value": 40100, "unit": "km"},
    }
}

answer! {
    /// Days by which a share of components has reached the end of its life, with their band.
    DaysReached {
        /// The length; null where nothing was watched long enough to say.
        at: Option<f64> = 412,
        /// It lies above this eight times in ten.
        from: Option<f64> = 390,
        /// It lies below this eight times in ten; null where nothing was watched long enough to say.
        to: Option<f64> = 445,
    }
}

answer! {
    /// Lives in distance run.
    LawInDistance {
        /// How wear shows: below 1 the old fail less, at 1 age does not matter, above 1 the old fail more.
        shape: f64 = 3.4,
        /// The length that 36.8 % (1/e) outlast.
        scale: Quantity = {"value": 41000, "unit": "km"},
    }
}

answer! {
    /// Lives in distance run. Components that have not reached the end of their life count as what they have shown so far.
    LifeInDistance {
        /// How many lives are counted.
        lives: u32 = 41,
        /// How many of these were taken off for good, for whatever reason.
        removals: u32 = 28,
        /// How many of those had reached the end of their life: worn, or failed by themselves.
        ends_of_life: u32 = 24,
        /// How many are left out because their life in this measure is not known, or none.
        unknown: u32 = 1,
        /// Why nothing more is told; null where it is.
        withheld: Option<LifeWithheld> = null,
        /// The length by which one in ten has reached its end (Kaplan-Meier).
        early: Option<DistanceReached>,
        /// The length by which half have: the median.
        likely: Option<DistanceReached>,
        /// The length by which nine in ten have.
        late: Option<DistanceReached>,
        /// The Weibull law of these lives, where it holds.
        weibull: Option<LawInDistance>,
        /// Why that law is not told; null where it is, or nothing is.
        no_law: Option<NoLifeLaw> = null,
    }
}

answer! {
    /// Lives in days fitted.
    LawInDays {
        /// How wear shows: below 1 the old fail less, at 1 age does not matter, above 1 the old fail more.
        shape: f64 = 3.4,
        /// The length that 36.8 % (1/e) outlast.
        scale: f64 = 450,
    }
}

answer! {
    /// Lives in days fitted. Components that have not reached the end of their life count as what they have shown so far.
    LifeInDays {
        /// How many lives are counted.
        lives: u32 = 41,
        /// How many of these were taken off for good, for whatever reason.
        removals: u32 = 28,
        /// How many of those had reached the end of their life: worn, or failed by themselves.
        ends_of_life: u32 = 24,
        /// How many are left out because their life in this measure is not known, or none.
        unknown: u32 = 1,
        /// Why nothing more is told; null where it is.
        withheld: Option<LifeWithheld> = null,
        /// The length by which one in ten has reached its end (Kaplan-Meier).
        early: Option<DaysReached>,
        /// The length by which half have: the median.
        likely: Option<DaysReached>,
        /// The length by which nine in ten have.
        late: Option<DaysReached>,
        /// The Weibull law of these lives, where it holds.
        weibull: Option<LawInDays>,
        /// Why that law is not told; null where it is, or nothing is.
        no_law: Option<NoLifeLaw> = null,
    }
}

answer! {
    /// What a product costs over distance: of components that were taken off for good, since one in use has been paid for and
    /// has not yet run for it.
    ProductCost {
        /// One sum a currency; none is turned into another.
        sums: Vec<CostOverDistance>,
        /// Components left out because they were not taken off for good.
        still_in_use: u32 = 13,
        /// Components left out because nobody stated what they cost.
        without_cost: u32 = 2,
        /// Components left out because their distance is not known, or none.
        without_distance: u32 = 0,
    }
}

answer! {
    /// How long the components of a product last in a position, and what that costs.
    AchievedLife {
        /// Kind of component.
        kind: Code = "tyre",
        /// The product, as on the component.
        product: String = "Gripwell Van 205/65 R16",
        /// Where they did their work. One that worked at the front and at the rear counts under `several` alone.
        position: Position,
        /// How many did their work there.
        components: u32 = 43,
        /// How many of these are left out of lives because they came used.
        came_used: u32 = 1,
        /// What became of the others.
        fates: Vec<FateCount>,
        /// Lives in distance run.
        distance: LifeInDistance,
        /// Lives in days fitted.
        time: LifeInDays,
        /// What they cost over distance.
        cost: ProductCost,
    }
}
