"""Looks over a vehicle of the demo fleet: is it sound, and does it show what the scenario says?

Used by make_fleet.py. It works from the finished JSON and knows nothing of how that was made. Its judgement is a plain
stand-in for the program's: mean distance a day, a margin for the forecast, both ends of a month's length.
"""

import math

KM = {"km": 1.0, "mi": 1.609344}
MM = {"mm": 1.0, "in32": 0.79375}


def log_of(vehicle):
    """The meter log without what the scenario wants held: (days ago as a fraction, km), oldest first."""
    unit = KM[vehicle["odometer_unit"]]

    def back(day, time):
        return day - (int(time[:2]) * 60 + int(time[3:])) / 1440

    entries = [(back(r[0], r[1]), r[2] * unit) for r in vehicle["readings"]]
    entries += [(back(s["days_ago"], "12:00"), s["odometer"]["value"] * unit) for s in vehicle["services"]]
    entries += [(back(i["days_ago"], i["time"]), i["odometer"]["value"] * unit)
                for i in vehicle["inspections"] if i["odometer"]]
    return sorted(entries, reverse=True)


def chain_and_held(vehicle):
    log = log_of(vehicle)
    held = [n for n in range(1, len(log)) if log[n][1] < log[n - 1][1]]
    return [e for n, e in enumerate(log) if n not in held], held


def closure(rules, codes):
    done = set(codes)
    for code in codes:
        done |= set(rules[code].get("satisfies", []))
    return done


def last_done(vehicle, rules, code):
    unit = KM[vehicle["odometer_unit"]]
    done = [(s["days_ago"], s["odometer"]["value"] * unit) for s in vehicle["services"] if code in closure(rules, s["rules"])]
    return min(done, default=(vehicle["in_service_days_ago"], vehicle["in_service_odometer"]["value"] * unit))


def pace(chain):
    """Mean km a day over the last 120 days on record."""
    recent = [e for e in chain if e[0] <= chain[-1][0] + 120]
    return (recent[-1][1] - recent[0][1]) / max(recent[0][0] - recent[-1][0], 1)


def stage(rule, severe, last, chain, haste):
    """Stage of a rule today if the vehicle ran `haste` times its pace since the last reading; `haste` also stretches months."""
    every = rule.get("severe", rule["every"]) if severe else rule["every"]
    lead, grace = rule.get("lead", {}), rule.get("grace", {})
    km_of = lambda reach: reach["distance"]["value"] * KM[reach["distance"]["unit"]] if "distance" in reach else 0
    since_days, since_km = last[0], chain[-1][1] - last[1] + chain[-1][0] * pace(chain) * haste
    month_days = every.get("months", 0) * 30.4375 + (2 if haste < 1 else -2)
    days_left = month_days - since_days if "months" in every else math.inf
    km_left = km_of(every) - since_km if "distance" in every else math.inf
    if days_left < -grace.get("days", 0) or km_left < -km_of(grace):
        return "overdue"
    if days_left < 0 or km_left < 0:
        return "due"
    if days_left < lead.get("days", 0) + 3 * (haste > 1) or km_left < km_of(lead):
        return "approaching"
    return "clear"


def stages(vehicle, spec, book):
    """Every duty that is not clear, those of a season and of wear apart, which hang on the day of the year and on the forecast; `unsure` where the answer hangs on a few days more or less."""
    severe, chain = vehicle["duty"] in ("delivery", "rideshare"), chain_and_held(vehicle)[0]
    rules = {r["code"]: r for r in book["rules"]}
    found = {}
    for code, rule in rules.items():
        tags = rule.get("applies_to", {}).get("tags", [])
        if tags and not set(tags) & set(vehicle["tags"]) or "season" in rule or "when" in rule:
            continue
        if "expiry" in rule:
            if spec.get("papers_unknown") and not any(p["kind"] == rule["expiry"]["paper"] for p in vehicle["papers"]):
                continue
            left = max(-p["expires_days_ago"] for p in vehicle["papers"] if p["kind"] == rule["expiry"]["paper"])
            answers = {"clear" if left > rule["lead"]["days"] + 5 else "approaching" if left > 0 else "overdue"}
        elif vehicle["history_unknown"]:
            continue
        else:
            last = last_done(vehicle, rules, code)
            answers = {stage(rule, severe, last, chain, haste) for haste in (0.8, 1.25)}
        found[code] = answers.pop() if len(answers) == 1 else "unsure"
    return {code: answer for code, answer in found.items() if answer != "clear"}


def window_end(vehicle, window):
    """Days until a window ends, and by what."""
    chain = chain_and_held(vehicle)[0]
    unit, start = KM[window["distance"]["unit"]], window["start_odometer"]
    limit = window["distance"]["value"] * unit + (start["value"] * unit if window["distance_from"] == "start_odometer" else 0)
    by_date = window["months"] * 30.4375 - window["starts_days_ago"]
    by_distance = (limit - chain[-1][1]) / pace(chain) - chain[-1][0]
    return min((by_date, "date"), (by_distance, "distance"))


def newest(vehicle, point):
    """The newest measurements of a point in mm by place: a newer inspection replaces the older at that place."""
    by_place = {}
    for inspection in sorted(vehicle["inspections"], key=lambda i: -i["days_ago"]):
        here = {}
        for name, place, zone, value, unit in inspection["measurements"]:
            if name == point:
                here.setdefault(place, {})[zone] = value * MM[unit]
        by_place.update(here)
    return by_place


def faults(vehicle, spec, book):
    """Everything that is not as the scenario says, as sentences."""
    found = sound(vehicle, spec, book)
    shown = stages(vehicle, spec, book)
    if shown != spec["shows"]:
        found.append(f"shows {shown}, not {spec['shows']}")
    for window, wanted in zip(vehicle["windows"], spec["windows"]):
        days, by = window_end(vehicle, window)
        low, high = wanted.get("ends_in", [120, math.inf])
        if not low <= days <= high or wanted.get("ends_by", by) != by:
            found.append(f"{window['title']} ends in {days:.0f} days by {by}")
    found += worn(vehicle, spec)
    return found


def worn(vehicle, spec):
    """Tread, pads and pressures must be good but where the scenario says otherwise."""
    found = []
    for place, zones in newest(vehicle, "tread-depth").items():
        one_sided = spec.get("one_sided_wear", {})
        for zone, depth in zones.items():
            if (place, zone) == (one_sided.get("place"), one_sided.get("zone")):
                if abs(depth - one_sided["down_to"]) > 0.01:
                    found.append(f"tread {place} {zone} {depth}")
            elif depth < 4.3:
                found.append(f"tread {place} {zone} {depth}")
    pads = newest(vehicle, "pad-thickness")
    for axle in ("front", "rear"):
        thin = min((v for p, z in pads.items() if p.startswith(axle) for v in z.values()), default=11)
        low, high = spec.get("low_pads", [4.7, 11]) if axle == "front" else (4.7, 11)
        if not low <= thin <= high:
            found.append(f"{axle} pads {thin}")
    return found


def sound(vehicle, spec, book):
    """Faults in the log, the codes and the order of things."""
    chain, held = chain_and_held(vehicle)
    log, found = log_of(vehicle), []
    if len(held) != ("miles_typed" in spec):
        found.append(f"{len(held)} readings run backwards")
    if any(b[1] < a[1] for a, b in zip(chain, chain[1:])):
        found.append("the log runs backwards")
    if any(a[0] - b[0] < 2 for a, b in zip(log, log[1:])):
        found.append("entries of the log lie closer than two days")
    widest = max((a[0] - b[0] for a, b in zip(chain, chain[1:]) if b[0] < 700), default=0)
    if widest > 20.5:
        found.append(f"no reading for {widest:.0f} days")
    if not 0.5 < chain[-1][0] <= 10:
        found.append(f"last reading {chain[-1][0]:.1f} days ago")
    overall = (chain[-1][1] - chain[0][1]) / max(chain[0][0] - chain[-1][0], 1)
    if chain[0][0] > 200 and not 0.85 < pace(chain) / overall < 1.18:
        found.append("pace of late far from the usual")
    if any(1.4 * KM["mi"] * 600 * (a[0] - b[0]) < b[1] - a[1] for a, b in zip(chain, chain[1:])):
        found.append("further in a day than a vehicle goes")
    codes = {r["code"] for r in book["rules"] if "every" in r or "season" in r}
    found += [f"unknown rule {c}" for s in vehicle["services"] for c in s["rules"] if c not in codes]
    found += ["a service without work" for s in vehicle["services"] if not s["rules"]]
    found += [f"paper {p['kind']} expires before it was issued" for p in vehicle["papers"]
              if p["expires_days_ago"] >= p["issued_days_ago"]]
    known = {r["expiry"]["paper"] for r in book["rules"] if "expiry" in r}
    found += [f"paper {p['kind']} has no rule" for p in vehicle["papers"] if p["kind"] not in known]
    return found + fitted(vehicle) + better_than_before(vehicle)


def fitted(vehicle):
    """Fittings must be in order, and no place hold two parts of a kind, nor a part two places, at once."""
    found, spans = [], {}
    for component in vehicle["components"]:
        for fitting in component["fittings"]:
            span = (fitting["from_days_ago"], -1 if fitting["to_days_ago"] is None else fitting["to_days_ago"])
            for held in (component["ref"], (component["kind"], fitting["place"])):
                spans.setdefault(held, []).append(span)
    for held, days in spans.items():
        days.sort(reverse=True)
        if any(start <= end for start, end in days) or any(a[1] < b[0] for a, b in zip(days, days[1:])):
            found.append(f"{held}: fittings overlap")
    return found


def better_than_before(vehicle):
    """A part that measures better than before must have a fitting in between."""
    kinds, found = {"tread-depth": "tyre", "pad-thickness": "pad-set"}, []
    changes = [(c["kind"], f["place"], f["from_days_ago"]) for c in vehicle["components"] for f in c["fittings"]]
    before = {}
    for inspection in sorted(vehicle["inspections"], key=lambda i: -i["days_ago"]):
        for point, place, zone, value, unit in inspection["measurements"]:
            if point not in kinds:
                continue
            day, was = before.get((point, place, zone), (None, math.inf))
            if value * MM[unit] > was + 0.5 and not any(
                    c[:2] == (kinds[point], place) and inspection["days_ago"] < c[2] < day for c in changes):
                found.append(f"{point} {place} {zone} grew {inspection['days_ago']} days ago")
            before[point, place, zone] = (inspection["days_ago"], value * MM[unit])
    return found
