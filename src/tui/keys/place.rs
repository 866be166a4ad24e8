//! Where keys apply.

/// Where a key applies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// On every screen.
    Everywhere,
    /// On every screen of a car.
    OfCar,
    /// In lists.
    List,
    /// In the Yard.
    Yard,
    /// In a Yard without cars.
    EmptyYard,
    /// In the Round, whatever the check.
    Round,
    /// In the Round, before a survey is begun.
    RoundBegin,
    /// In the Round, on a graded check.
    RoundGrade,
    /// In the Round, on a measured check.
    RoundReading,
    /// In the Round, on a yes/no check.
    RoundAnswer,
    /// In the Round, while the engine chooses the checks of a first look.
    RoundWaits,
    /// In the Round, while it asks why something was not seen.
    RoundWhy,
    /// In the Round, at a second look.
    RoundAgain,
    /// In the Standing.
    Standing,
    /// In Sides.
    Sides,
    /// In Decline.
    Decline,
    /// In the Plan's list of visits.
    Plan,
    /// In the Plan's list of repairs.
    PlanJobs,
    /// In the Plan's list of parts to buy.
    PlanBuys,
    /// In the Plan's list of limits.
    PlanLimits,
    /// Inside a visit.
    Visit,
    /// In Fixings.
    Fixings,
    /// On the car's profile.
    Profile,
    /// On the car's parts.
    Parts,
    /// In a form.
    Form,
    /// In a note of several lines.
    NoteForm,
    /// In a search list.
    Pick,
    /// In a search list whose lines are of parts.
    PickSieve,
    /// In lists of parts: search and filters.
    Sieve,
    /// Where a photo is chosen.
    Files,
    /// Where photos are looked at.
    Photo,
    /// Where something is asked.
    Confirm,
}

impl Place {
    /// Its heading on the help screen.
    #[must_use]
    pub fn heading(self) -> &'static str {
        match self {
            Place::Everywhere => "Everywhere",
            Place::OfCar => "On every screen of a car",
            Place::List => "In lists",
            Place::Yard => "Yard",
            Place::EmptyYard => "Yard, while it is empty",
            Place::Round => "Round",
            Place::RoundBegin => "Round, before a survey is begun",
            Place::RoundGrade => "Round, grading",
            Place::RoundReading => "Round, measuring",
            Place::RoundAnswer => "Round, yes or no",
            Place::RoundWaits => "Round, while the first look is chosen",
            Place::RoundWhy => "Round, why not seen",
            Place::RoundAgain => "Round, second look",
            Place::Standing => "Standing",
            Place::Sides => "Sides",
            Place::Decline => "Decline",
            Place::Plan => "Plan",
            Place::PlanJobs => "Plan, repair by repair",
            Place::PlanBuys => "Plan, parts to buy",
            Place::PlanLimits => "Plan, limits",
            Place::Visit => "Plan, inside a visit",
            Place::Fixings => "Fixings",
            Place::Profile => "Car, profile",
            Place::Parts => "Car, parts",
            Place::Form => "Forms",
            Place::NoteForm => "Notes",
            Place::Pick => "Search",
            Place::PickSieve => "Search among parts",
            Place::Sieve => "Search and filters",
            Place::Files => "Choosing a photo",
            Place::Photo => "Photos",
            Place::Confirm => "Questions",
        }
    }
}
