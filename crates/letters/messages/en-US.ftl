# What letters say, in American English. Sentences about items and windows come from the engine.

## Days

month = { $number ->
    [1] Jan
    [2] Feb
    [3] Mar
    [4] Apr
    [5] May
    [6] Jun
    [7] Jul
    [8] Aug
    [9] Sep
    [10] Oct
    [11] Nov
   *[12] Dec
}
weekday = { $number ->
    [1] Monday
    [2] Tuesday
    [3] Wednesday
    [4] Thursday
    [5] Friday
    [6] Saturday
   *[7] Sunday
}
day = { $month } { $day }, { $year }
weekday-and-day = { $weekday }, { $day }
heading = { $fleet }, { $day }

## Lists

and = { $firsts } and { $last }

## Sections

section-do-not-drive = DO NOT DRIVE
section-today = TODAY
section-this-week = THIS WEEK
section-later = LATER
section-rest = THE REST
section-moved = DAYS THAT HAVE CHANGED
section-no-longer = NO LONGER NEEDED

## Items and windows

reading-wanted = odometer reading wanted
paper-expired = { $title } expired { $day }
paper-expires = { $title } expires { $day }
item-overdue = { $title } overdue
item-due-now = { $title } due now
item-due = { $title } due { $day }
item-likely-due = { $title } likely due { $day }
item-forecast = At the present use { $odometer } is reached: { $band }.
done-along = Done along with it: { $items }.
says-who = Says who: { $authority }.
window-ends-on-odometer = { $title } ends at { $odometer } on the odometer
window-ended = { $title } has ended
window-ends-at = { $title } ends at { $odometer }
window-ends-after = { $title } ends after { $day }
window-may-end = { $title } may end as early as { $day }
window-forecast = At the present use the end is { $band }.
window-distance-first = Chance that the odometer comes before the date: { $percent }%.

## What to do

take-the-key = Take the key, tag the wheel, call { $name }.
take-the-key-manager = Take the key, tag the wheel, call the fleet manager.
take-the-key-yourself = Take the key, tag the wheel. You are the one to call about it.
caution = Caution: { $text }
seen = I have seen this
postpone = Postpone it

## For want of an answer

minutes-long = { $count ->
    [one] a minute
   *[other] { $count } minutes
}
hours-long = { $count ->
    [one] an hour
   *[other] { $count } hours
}
days-long = { $count ->
    [one] a day
   *[other] { $count } days
}
unanswered = Told to you because nobody has answered for { $long }.
unanswered-by = Told to you because nobody has answered for { $long }. Written to first, { $day } at { $time }: { $names }.
you = you

## Subjects

do-not-drive-one = Do not drive { $vehicle }: { $why }
do-not-drive-two = Do not drive { $vehicle } and { $other }
do-not-drive-more = Do not drive { $vehicle }, { $other } and { $count } more
subject-today = Today, { $vehicle }: { $what }
subject-first = { $vehicle }: { $what }
subject-and-more = { $subject } (and { $count } more)
subject-week = { $subject }; week of { $day }
subject-week-tally = Week of { $day }: nothing presses
subject-tomorrow = { $day }: { $count ->
    [one] one vehicle
   *[other] { $count } vehicles
} to see to
subject-sign-in = Sign in to the service list of { $fleet }
subject-address-test = Letters of { $fleet } reach you

## Digests

digest-week = What the week brings for { $count ->
    [one] one vehicle
   *[other] { $count } vehicles
}.
tally-do-not-drive = { $count ->
    [one] One vehicle
   *[other] { $count } vehicles
} must not be driven.
tally-overdue = { $count ->
    [one] One thing is
   *[other] { $count } things are
} overdue.
tally-off-road = { $count ->
    [one] One vehicle is
   *[other] { $count } vehicles are
} off the road; nobody is reminded of { $count ->
    [one] it
   *[other] them
} meanwhile.
tally-held = { $count ->
    [one] One entry is
   *[other] { $count } entries are
} held until somebody decides about { $count ->
    [one] it
   *[other] them
}.
tally-readings = { $count ->
    [one] An odometer reading is
   *[other] { $count } odometer readings are
} wanted.
unreachable = No letter reaches { $name }: since { $day } the address takes no mail ({ $reply }). Change the address, or release it once it takes mail again.
unreachable-more = Nor do letters reach { $count ->
    [one] one more person
   *[other] { $count } more people
}.
tomorrow = To see to on { $day }.

## Signing in, and the test of an address

sign-in = You asked to sign in to the service list of { $fleet }.
sign-in-until = The link is good once, until { $time } on { $day }. It opens a page with a button; nothing happens before you press it.
sign-in-not-you = If you did not ask for it, do nothing and show the link to nobody.
sign-in-button = Sign in
address-test = This letter tests whether letters of { $fleet } reach this address. They do, and there is nothing for you to do.

## Endings

not-shown = { $count ->
    [one] One more thing is
   *[other] { $count } more things are
} on the list.
whole-list = The whole list
who-writes = Written by Ostler, which keeps the service list of { $fleet }.
unsubscribe = No more of these overviews

## Calendar

calendar-summary = { $vehicle }: { $what }
