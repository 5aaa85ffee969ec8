//! What becomes of a mark, a notice and a letter.

use crate::coded::worded;

worded! {
    /// What became of a mark.
    MarkOutcome {
        /// Its moment has not come, or it is being told.
        Waiting = "waiting",
        /// Somebody was told, or there was nobody to tell.
        Told = "told",
        /// Told as part of another notice.
        Folded = "folded",
        /// A later mark of the same item and cycle came due before it could be told.
        Overtaken = "overtaken",
        /// Not told, with a stored reason.
        Skipped = "skipped",
    }
}

worded! {
    /// Where a notice stands.
    NoticeState {
        /// To be gathered into a letter.
        Waiting = "waiting",
        /// In a letter.
        Gathered = "gathered",
        /// A letter that carries it was delivered to the relay.
        Told = "told",
        /// No longer true before a letter carried it.
        Withdrawn = "withdrawn",
        /// The person has no address: it stands in the list only.
        ListOnly = "list_only",
    }
}

worded! {
    /// Where a letter stands.
    LetterState {
        /// To be claimed by a courier.
        Waiting = "waiting",
        /// Claimed under a lease.
        Claimed = "claimed",
        /// Being handed to the relay.
        Sending = "sending",
        /// The relay took it.
        Sent = "sent",
        /// To be tried again.
        Retry = "retry",
        /// The connection died before the relay's answer: it may or may not have been taken.
        Uncertain = "uncertain",
        /// Nothing in it was true any more.
        Withdrawn = "withdrawn",
        /// Given up, with the last reply.
        Undeliverable = "undeliverable",
        /// Set aside for a person.
        Parked = "parked",
    }
}

worded! {
    /// What a letter has a calendar do with a day (RFC 5546, 1.4, whose words these are).
    CalendarMethod {
        /// It is put in, or changed there.
        Publish = "PUBLISH",
        /// It is taken out again.
        Cancel = "CANCEL",
    }
}

worded! {
    /// Whether what a letter says reached its person.
    Arrival {
        /// The relay took it.
        Arrived = "arrived",
        /// It is on its way, or nobody knows.
        Perhaps = "perhaps",
        /// It never went, or was refused.
        Never = "never",
    }
}

worded! {
    /// A kind of letter that whoever gets it may do without.
    OptionalLetter {
        /// Everything there is to do, once a week.
        WeekAhead = "week_ahead",
        /// What is to be seen to the next day.
        DayAhead = "day_ahead",
    }
}

worded! {
    /// A kind of list for one person on one day.
    DigestKind {
        /// Everything there is to do in a week; its day is the Monday.
        Week = "week",
        /// What is to be seen to on a working day.
        Round = "round",
    }
}

impl DigestKind {
    /// The letter that brings it, which its person may do without.
    pub const fn letter(self) -> OptionalLetter {
        match self {
            Self::Week => OptionalLetter::WeekAhead,
            Self::Round => OptionalLetter::DayAhead,
        }
    }
}

worded! {
    /// What kind of letter.
    LetterKind {
        /// What cannot wait: a vehicle that must not be driven, work that another work calls for within the day.
        AtOnce = "at_once",
        /// What came up since the last.
        Notices = "notices",
        /// Everything there is to do, once a week; whoever gets it may do without.
        WeekAhead = "week_ahead",
        /// What is to be seen to the next day; whoever gets it may do without.
        DayAhead = "day_ahead",
        /// A link that signs in.
        SignIn = "sign_in",
        /// Shows that an address works.
        AddressTest = "address_test",
    }
}
