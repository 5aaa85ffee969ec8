#!/usr/bin/env python3
"""Writes fleet.json, the demo fleet, from scenario.toml and the rulebooks; `--check` only looks it over.

Everything in it is invented. The same input gives the same bytes: chance comes from `random.random` with fixed seeds, and
a vehicle takes the first seed under which it shows just what the scenario says. Needs Python 3.11, nothing else.
"""

import json
import math
import random
import sys
import tomllib
from pathlib import Path

import check_fleet
from wheels import PLACES, Wheels, spread

HERE = Path(__file__).parent
OUTPUT = HERE / "fleet.json"
KM_PER_MILE = 1.609344
DAYS_PER_MONTH = 30.4375
NOON = 12 * 60
INSURANCE_LEFT_DAYS = 143  # one policy for the whole fleet
POLICIES = ["BL-6418", "BL-7071"]  # the one before, and today's
SOURCES = {"battery_electric": ["driver", "driver", "vehicle_bus", "dash_photo"]}
SOURCES_FUEL = ["driver", "driver", "fuel_card", "dash_photo"]
DEALER_WORK = {"annual-service", "timing-belt", "brake-fluid", "coolant", "gearbox-oil", "transmission-fluid",
               "battery-health-report", "reduction-gear-oil", "spark-plugs", "air-conditioning"}

# Price in minor units and parts (name, number, quantity) of each rule's work; invented, and the same in both currencies.
WORK = {
    "annual-service": (11900, []),
    "engine-oil": (9800, [("Engine oil, litres", None, 5.5), ("Oil filter", "FN-1142", 1)]),
    "air-filter": (3400, [("Air filter", "FN-2207", 1)]),
    "cabin-filter": (2900, [("Cabin filter", "FN-2310", 1)]),
    "battery-cooling-filter": (1500, []),
    "fuel-filter": (6200, [("Fuel filter", "FN-1870", 1)]),
    "brake-fluid": (7400, [("Brake fluid DOT 4, litres", None, 1)]),
    "coolant": (13800, [("Coolant concentrate, litres", None, 4)]),
    "timing-belt": (68900, [("Timing belt kit", "FN-4401", 1), ("Water pump", "FN-4410", 1)]),
    "gearbox-oil": (11200, [("Gearbox oil, litres", None, 2.4)]),
    "transmission-fluid": (16400, [("Transmission fluid, litres", None, 3.8)]),
    "reduction-gear-oil": (9900, [("Gear oil, litres", None, 1.2)]),
    "spark-plugs": (9100, [("Spark plug", "FN-3120", 4)]),
    "tyre-check": (1800, []),
    "brake-inspection": (3600, []),
    "winter-check": (1900, []),
    "battery-test": (900, []),
    "wiper-blades": (3100, [("Wiper blade pair", "FN-5006", 1)]),
    "doors-and-locks": (1200, []),
    "exhaust-aftertreatment": (5400, []),
    "air-conditioning": (8700, []),
    "charging-check": (1500, []),
    "battery-health-report": (4900, []),
}


class Unfit(Exception):
    """The vehicle that came out does not show what the scenario says; another seed may."""


def pick(rng, choices):
    return choices[int(rng.random() * len(choices))]


def clock(minutes):
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def minutes_of(time):
    return int(time[:2]) * 60 + int(time[3:])


def check_digit(vin):
    """Weighted sum modulo 11 as in crates/model/src/vin.rs; 10 is written X."""
    values = {**{str(d): d for d in range(10)}, **dict(zip("ABCDEFGH", range(1, 9))), **dict(zip("JKLMN", range(1, 6))),
              "P": 7, "R": 9, **dict(zip("STUVWXYZ", range(2, 10)))}
    weights = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2]
    rest = sum(values[c] * w for c, w in zip(vin, weights)) % 11
    return "X" if rest == 10 else str(rest)


def vin_of(described, serial):
    """Position 10 is 0, which is no year code: no model year is to be read from these numbers."""
    draft = f"G00{described}00K{serial:06d}"
    return draft[:8] + check_digit(draft) + draft[9:]


class Road:
    """The odometer through time, in the unit of the depot, and what of it is km."""

    def __init__(self, rng, spec, unit):
        self.unit, self.first = unit, spec["in_service"]
        self.km_per_unit = KM_PER_MILE if unit == "mi" else 1.0
        running = bin(spec["weekdays"]).count("1") / 7 * 0.98
        mood, days = 0.0, []
        for day in range(self.first, 0, -1):
            if day % 7 == 0:
                mood = 0.7 * mood + spread(rng, -0.16, 0.16)
            length = -(math.log(1 - rng.random()) + math.log(1 - rng.random()) + math.log(1 - rng.random())) / 3
            days.append(length * math.exp(mood) if rng.random() < running else 0.0)
        start = spec.get("start_odometer", 0 if spec.get("history_unknown") else int(spread(rng, 6, 28)))
        factor = (spec["odometer"] - start) / sum(days)
        self.start, self.begin = start, {self.first: float(start)}
        for day, length in zip(range(self.first, 0, -1), days):
            self.begin[day - 1] = self.begin[day] + length * factor

    def at(self, day, minutes=NOON):
        share = min(max((minutes - 360) / 840, 0.0), 1.0)
        return int(self.begin[day] + share * (self.begin[day - 1] - self.begin[day]))

    def km(self, day, minutes=NOON):
        return self.at(day, minutes) * self.km_per_unit

    def entered(self, day, minutes=NOON):
        return {"value": self.at(day, minutes), "unit": self.unit}


def in_force(book, spec):
    """The recurring rules of a book that apply: those of the demo differ by tags only."""
    return {r["code"]: r for r in book["rules"] if applies(r, spec) and "every" in r}


def applies(rule, spec):
    tags = rule.get("applies_to", {}).get("tags", [])
    return not tags or bool(set(tags) & set(spec["tags"]))


def interval(rule, severe):
    """Days and km of a rule, infinite where it has none."""
    every = rule.get("severe", rule["every"]) if severe else rule["every"]
    days = every["months"] * DAYS_PER_MONTH if "months" in every else every.get("days", math.inf)
    distance = every.get("distance")
    return days, distance["value"] * (KM_PER_MILE if distance["unit"] == "mi" else 1) if distance else math.inf


def is_severe(spec):
    return spec["duty"] in ("delivery", "rideshare")


def is_frequent(rule):
    """Whether work may be done well ahead of its time: nobody renews a timing belt at half its life."""
    days, km = interval(rule, True)
    return days < 400 or km < 45000


def visits_of(rng, spec, road, rules, seasonal):
    """Workshop visits day by day: when a rule comes near its limit, it is done, and with it what would follow soon."""
    last = dict.fromkeys(rules, (spec["in_service"], road.start * road.km_per_unit))
    certain = {int(day): share for day, share in spec.get("visits", {}).items()}
    undone = {code: day if day > 0 else spec["in_service"] + 1 for code, day in spec.get("left_undone", {}).items()}
    visits, near, before = [], 0.03, spec["in_service"] + 20

    def left(code, day):
        days, km = interval(rules[code], is_severe(spec))
        return min(1 - (last[code][0] - day) / days, 1 - (road.km(day) - last[code][1]) / km)

    for day in range(spec.get("acquired", spec["in_service"]) - 1, 5, -1):
        barred = {code for code, since in undone.items() if day < since}
        free = [c for c, r in rules.items() if not barred & {c, *r.get("satisfies", [])}]
        ripe = min(left(c, day) for c in free) <= near and before - day > 15
        soon = any(day > other >= day - 20 for other in certain)
        if day not in certain and (not ripe or soon):
            continue
        share = certain.get(day, 0.27)
        done = {c for c in free if left(c, day) < (share if is_frequent(rules[c]) else min(share, 0.2))}
        done |= {c for c, since in undone.items() if since == day}
        also = spec.get("also", {}).get(str(day), [])
        for code in [*done, *also]:
            done |= set((rules | seasonal)[code].get("satisfies", []))
        last.update((code, (day, road.km(day))) for code in done)
        visits.append({"day": day, "rules": [c for c in rules if c in done] + also, "fitted": []})
        before, near = day, spread(rng, 0.01, 0.06)
    return visits


def inspection_days(rng, spec, visits):
    """Days of inspections, newest first, none within two days of a visit; and the sheet of each."""
    if spec.get("newcomer"):
        return [(spec["in_service"] - 1, "yard-walk")]
    if spec.get("history_unknown"):
        return [(spec["acquired"] - 1, "wheels-and-brakes")]
    day, found = spec.get("last_inspection", int(spread(rng, 9, 30))), []
    busy = {v["day"] + n for v in visits for n in range(-2, 3)}
    while day < min(440, spec["in_service"] - 25):
        while day in busy and day != spec.get("last_inspection"):
            day += 1
        found.append((day, "yard-walk" if len(found) % 2 else "wheels-and-brakes"))
        day += int(spread(rng, 60, 100))
    if "closing_check" in spec:
        closing = spec["closing_check"]
        found = [f for f in found if abs(f[0] - closing) > 20] + [(closing, "closing-check")]
    if busy & {day for day, _ in found}:
        raise Unfit("an inspection falls on a visit")
    return sorted(found)


def inspect(rng, spec, wheels, road, day, sheet, newest):
    minutes = 7 * 60 if newest and "one_sided_wear" in spec else int(spread(rng, 6 * 60 + 20, 9 * 60))
    km, measurements = road.km(day, minutes), []
    for place in PLACES:
        measurements.append(wheels.measured_pressure(place, newest))
        measurements += wheels.measured_tread(place, day, km, sheet != "yard-walk")
        if sheet != "yard-walk":
            measurements += wheels.measured_pads(place, km)
    silent = spec.get("newcomer") or spec.get("history_unknown") or (sheet == "yard-walk" and rng.random() < 0.25)
    return {"days_ago": day, "time": clock(minutes), "sheet": sheet,
            "odometer": None if silent else road.entered(day, minutes), "measurements": measurements,
            "findings": [spec["finding"]] if newest and "finding" in spec else [], "note": None}


def services_of(rng, spec, visits):
    """Records of the visits, with the tyres and pads that the wheels asked for."""
    records, warranted = [], any(w["title"].startswith("New") for w in spec["windows"])
    fading = spread(rng, 2.2, 3.4)  # percent in the first year; after that with the square root of time
    for visit in visits:
        codes = visit["rules"]
        if DEALER_WORK & set(codes):
            workshop = "dealer" if warranted or rng.random() < 0.4 else "independent"
        else:
            workshop = pick(rng, ["own-bay", "own-bay", "independent"])
        parts = [{"name": n, "number": p, "quantity": q} for c in codes for n, p, q in WORK[c][1]]
        parts += [{"name": n, "number": p, "quantity": q} for n, p, q, _ in visit["fitted"]]
        cost = sum(WORK[c][0] for c in codes) + sum(f[3] for f in visit["fitted"])
        paper = "Job card" if workshop == "own-bay" else "Invoice"
        note = None
        if "battery-health-report" in codes:
            years = (spec["in_service"] - visit["day"]) / 365.25
            note = f"Maker's test: {100 - fading * math.sqrt(years) - spread(rng, 0, 0.1):.1f} % of the new capacity."
        records.append({"days_ago": visit["day"], "odometer": visit["odometer"], "rules": codes, "workshop": workshop,
                        "parts": parts, "cost_minor": int(cost * spread(rng, 0.95, 1.12) / 10) * 10,
                        "currency": "USD" if spec["unit"] == "mi" else "EUR",
                        "evidence": f"{paper} {int(spread(rng, 10000, 99999))}", "note": note})
    return records


def readings_of(rng, spec, road, taken):
    """Readings every 7 to 14 days up to two years back, three days clear of the other entries of the meter log."""
    first = spec.get("acquired", spec["in_service"])
    if spec.get("newcomer") or spec.get("history_unknown"):
        days = [spec["last_reading"], first]
    else:
        days, day = [], spec["last_reading"]
        if "miles_typed" in spec:
            taken = taken | {spec["miles_typed"]}
        while day < min(first, 735):
            near = sorted(range(day - 2, day + 6), key=lambda d: abs(d - day))
            fitting = [d for d in near if d >= 2 - (spec["unit"] == "km") and all(abs(d - t) >= 3 for t in taken)
                       and (not days or 5 <= d - days[-1])]
            if fitting and fitting[0] < first - 3:
                days.append(fitting[0])
            day = max(day, days[-1] if days else 0) + 7 + int(rng.random() * 8)
        if first <= 730:
            days.append(first)
    found = []
    for day in days:
        minutes = int(spread(rng, 390, 1170))
        source = pick(rng, SOURCES.get(spec["powertrain"], SOURCES_FUEL))
        value = road.start if day == road.first else road.at(day, minutes)
        found.append([day, clock(minutes), value, "technician" if day == first else source])
    if "miles_typed" in spec:
        day, minutes = spec["miles_typed"], 18 * 60 + 42
        found.append([day, clock(minutes), round(road.at(day, minutes) / KM_PER_MILE), "driver"])
    return sorted(found, key=lambda r: (-r[0], r[1]))


def papers_of(rng, spec, book):
    """The papers the rulebook asks for: the valid one of each kind, and the one before it."""
    first, found = spec.get("acquired", spec["in_service"]), []
    prefixes = {"annual_test": "AT", "registration": "RG", "hire_licence": "HL", "extinguisher": "FX"}
    for rule in book["rules"]:
        if "expiry" not in rule or not applies(rule, spec):
            continue
        kind = rule["expiry"]["paper"]
        left = INSURANCE_LEFT_DAYS if kind == "insurance" else int(spread(rng, 70, 330))
        fresh = spec.get("newcomer") or (spec.get("history_unknown") and kind == "extinguisher")
        left = spec.get("papers", {}).get(kind, 365 - first if fresh and kind != "insurance" else left)
        issued = 365 - left
        if spec.get("papers_unknown") and kind != "insurance":
            continue
        bought_with = spec.get("history_unknown") and kind in ("annual_test", "registration")
        if not bought_with and issued < first:
            before = 365 + issued
            found.append((kind, min(before, first), issued))
        found.append((kind, issued if bought_with else min(issued, first), -left))
    def reference(kind, expires):
        return POLICIES[expires < 0] if kind == "insurance" else f"{prefixes[kind]}-{int(spread(rng, 10000, 99999))}"

    return [{"kind": kind, "reference": reference(kind, expires), "issued_days_ago": issued, "expires_days_ago": expires}
            for kind, issued, expires in found if issued > expires]


def windows_of(spec, road):
    found = []
    for window in spec["windows"]:
        bought = window.get("from_acquisition", False)
        start = road.entered(spec["acquired"]) if bought else {"value": road.start, "unit": road.unit}
        counted = bought or window.get("from_start_odometer", False)
        found.append({
            "kind": window.get("kind", "warranty"), "title": window["title"], "scope": window.get("scope", []),
            "starts_days_ago": spec["acquired"] if bought else spec["in_service"],
            "start_odometer": start if counted else None, "months": window["months"],
            "distance": {"value": window["distance"], "unit": road.unit},
            "distance_from": "start_odometer" if counted else "zero", "last_day": "day_before",
            "capacity_floor_percent": window.get("floor"), "voided_by": window.get("voided")}
            | {name: window[name] for name in ("reduced_if", "pro_rata", "excess") if name in window})
    return found


def settled(spec, road):
    """The scenario of a vehicle with the visit told by distance put on its day."""
    if "visit_km_ago" not in spec:
        return spec
    wanted = road.km(1) - spec["visit_km_ago"]["distance"]
    day = next(d for d in range(1, road.first) if road.km(d) <= wanted)
    undone = {code: since or day for code, since in spec["left_undone"].items()}
    certain = spec.get("visits", {}) | {str(day): spec["visit_km_ago"]["share"]}
    return spec | {"visits": certain, "left_undone": undone}


def build(spec, model, book, rng, serial):
    road = Road(rng, spec, spec["unit"])
    spec = settled(spec, road)
    rules = in_force(book, spec)
    seasonal = {r["code"]: r for r in book["rules"] if "season" in r}
    visits = [] if spec.get("history_unknown") else visits_of(rng, spec, road, rules, seasonal)
    inspections, wheels = inspection_days(rng, spec, visits), Wheels(rng, spec, model, road)
    if spec.get("history_unknown"):
        for part in wheels.parts:
            part.since_km = road.km(spec["acquired"]) - 22000
    looked = []
    steps = [(v["day"], v) for v in visits] + [(day, sheet) for day, sheet in inspections]
    for day, step in sorted(steps, key=lambda s: -s[0]):
        if isinstance(step, dict):
            wheels.serve(step)
            step["odometer"] = road.entered(day)
        else:
            looked.append(inspect(rng, spec, wheels, road, day, step, day == inspections[0][0]))
    taken = {v["day"] for v in visits} | {i["days_ago"] for i in looked if i["odometer"]}
    placard = [{"value": wheels.placard(axle), "unit": "psi" if spec["unit"] == "mi" else "kPa"} for axle in (0, 1)]
    aged = not (spec.get("newcomer") or spec.get("history_unknown"))
    return {
        "ref": spec["ref"], "vin": vin_of(model["described"], serial), "make": model["make"], "model": model["model"],
        "model_year_offset": -round(spec["in_service"] / 365.25), "powertrain": model["powertrain"],
        "gross_mass_kg": model["gross_mass_kg"], "tags": spec["tags"], "in_service_days_ago": spec["in_service"],
        "in_service_odometer": {"value": road.start, "unit": road.unit},
        "history_unknown": spec.get("history_unknown", False),
        "acquired_days_ago": spec.get("acquired", spec["in_service"]), "odometer_unit": road.unit,
        "placard": {"front": placard[0], "rear": placard[1]}, "depot": spec["depot"], "duty": spec["duty"],
        "label": spec["label"], "plate": spec["plate"], "operating_weekdays": spec["weekdays"],
        "rulebook": model["rulebook"], "readings": readings_of(rng, spec, road, taken),
        "services": services_of(rng, spec, visits), "papers": papers_of(rng, spec, book),
        "windows": windows_of(spec, road), "inspections": looked,
        "components": wheels.components(inspections[-1][0]) if aged else [],
        "stays": [{"out_days_ago": None, "out_time": None} | stay for stay in spec.get("stays", [])], "indicators": spec.get("indicators", []), "hours": spec.get("hours", [])}


def written(fleet):
    """Compact JSON in which every vehicle, service and inspection has its own line."""
    plain = lambda value: json.dumps(value, ensure_ascii=False, separators=(",", ":"))

    def listed(items, indent):
        gap = "\n" + " " * indent
        return "[" + ",".join(gap + " " + plain(item) for item in items) + gap + "]" if items else "[]"

    def vehicle_text(vehicle):
        long = ["readings", "services", "papers", "windows", "inspections", "components", "stays", "indicators", "hours"]
        head = plain({k: v for k, v in vehicle.items() if k not in long})[:-1]
        return head + "".join(
            f',\n  "{k}":' + (plain(vehicle[k]) if k in ("readings", "papers", "hours") else listed(vehicle[k], 2)) for k in long) + "}"

    parts = [f'"{key}":{plain(fleet[key])}' if key == "fleet" else f'"{key}":{listed(fleet[key], 0)}'
             for key in ("fleet", "depots", "people", "workshops")]
    vehicles = ",\n".join(vehicle_text(v) for v in fleet["vehicles"])
    return "{" + ",\n".join(parts) + ',\n"vehicles":[\n' + vehicles + "]}\n"


def made(spec, model, book, serial):
    """The vehicle under the first seed that suits, and that seed's number."""
    worst = {}
    for attempt in range(4000):
        try:
            vehicle = build(spec, model, book, random.Random(f"{spec['ref']}/{attempt}"), serial)
            wrong = check_fleet.faults(vehicle, spec, book)
        except Unfit as unfit:
            wrong = [str(unfit)]
        if not wrong:
            return vehicle, attempt
        for sentence in wrong:
            worst[sentence] = worst.get(sentence, 0) + 1
    reasons = sorted(worst.items(), key=lambda w: -w[1])[:12]
    sys.exit(f"{spec['label']}: no seed suits\n" + "\n".join(f"  {count}: {text}" for text, count in reasons))


def main():
    scenario = tomllib.loads((HERE / "scenario.toml").read_text())
    units = {d["ref"]: "mi" if d["jurisdiction"] == "us" else "km" for d in scenario["depots"]}
    fleet = {key: scenario[key] for key in ("fleet", "depots", "people", "workshops")} | {"vehicles": []}
    for number, spec in enumerate(scenario["vehicles"]):
        model = scenario["models"][spec["model"]]
        book = tomllib.loads((HERE.parent / "rulebooks" / f"{model['rulebook']}.toml").read_text())
        spec |= {"unit": units[spec["depot"]], "powertrain": model["powertrain"]}
        vehicle, attempt = made(spec, model, book, 1001 + 37 * number)
        fleet["vehicles"].append(vehicle)
        print(f"{spec['label']}: seed {attempt}; {spec['story']}")
    if check_digit("1M8GDM9AXKP042788") != "X" or any(v["vin"][8] != check_digit(v["vin"]) for v in fleet["vehicles"]):
        sys.exit("a check digit does not fit")
    text = written(fleet)
    if "--check" in sys.argv[1:]:
        if OUTPUT.read_text() != text:
            sys.exit("fleet.json is not what scenario.toml and the rulebooks make")
    else:
        OUTPUT.write_text(text)
    print(f"{OUTPUT.name}: {len(fleet['vehicles'])} vehicles, {len(text.encode()) // 1024} KB, in order")


if __name__ == "__main__":
    main()
