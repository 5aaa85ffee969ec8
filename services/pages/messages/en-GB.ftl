# What pages say, in British English. Sentences about items and windows come from the letters' room.

## What a page is about

vehicle = Vehicle
what = What it is about
caution = Caution
who = Recorded for
fleet = Fleet
nothing-yet = Nothing has been done yet.
not-fit = Do not drive the vehicle until what is wrong has been put right and that is on record.
good-until = This link is good until { $time } on { $day }.
not-you = If you are not the person named here, close this page, and nothing happens.

## Seen

seen-ask = Have you seen this?
seen-ask-what = The button records that you have seen it and see to it. It stays as due as it is; nobody else is then told only because no one had answered.
seen-button = I have seen this and see to it
seen-not-fit = Having seen this does not make the vehicle fit to drive. Do not drive it until what is wrong has been put right and that is on record.
seen-now = Recorded: you have seen this
seen-now-what = It stays as due as it is until it has been done and recorded.
seen-before = You have said so already
seen-before-when = That you have seen this was recorded at { $time } on { $day }. Nothing was changed now.

## Later

later-ask = Be reminded of this later?
later-ask-what = The button moves the next reminder, for everybody it concerns. It stays as due as it is.
later-question = Remind us again on
later-day = { $day } ({ $count ->
    [one] tomorrow
    [7] in a week
    [14] in two weeks
   *[other] in { $count } days
})
later-fault = That day cannot be chosen. Choose one of these.
later-reason = Why? You may leave this empty; it is kept.
later-button = Remind us later
later-now = You will all be reminded again on { $day }
later-now-what = It stays as due as it is until it has been done and recorded.
later-before = This is put off until { $day } already
later-before-what = A link puts a thing off once. Nothing was changed now.
cannot-wait = This cannot wait
cannot-wait-why = The vehicle must not be driven for this reason, and such a reminder cannot be put off.

## Letters that one can do without

kind-week-ahead = overviews of the week
kind-day-ahead = overviews of the next day
end-ask = Get no more { $letters }?
end-button = Send me no more { $letters }
ended-now = You get no more { $letters }
ended-before = You get no more { $letters } already
again-button = Send me { $letters } again
again-now = You get { $letters } again
again-before = You get { $letters } already
still-told = What must not be driven, and what comes up for your vehicles, is told to you as before.

## A link that does nothing

over = This is no longer so
over-why = What the letter told is done or gone. Nothing is left to answer.
not-allowed = You cannot do this
not-allowed-why = Your duty in the fleet does not allow it now. Ask a manager of the fleet.
ran-out = This link has run out
ran-out-why = Nothing was done. A newer letter has newer links.
unknown = This link is not known here
unknown-why = Nothing was done. Check that the address is the whole one from the letter.
elsewhere = This came from another site
elsewhere-why = Nothing was done. Open the link from the letter itself and press the button there.
unreadable = This could not be read
unreadable-why = Nothing was done. Open the link from the letter again and press the button there.
busy = This takes longer than usual
busy-why = Open the link again in a minute and look whether it was done. To press the button twice does no harm.
fault = Something went wrong here
fault-why = It is not your fault. Open the link again later and look whether it was done. To press the button twice does no harm.
