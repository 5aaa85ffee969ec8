"""Tyres and brake pads of the demo fleet as they wear, are moved and renewed, and what a gauge shows of them."""

import math

MM_PER_32ND = 0.79375
PAD_NEW_MM = 11.0
PLACES = ["front_left", "front_right", "rear_left", "rear_right"]


def spread(rng, low, high):
    """A number between `low` and `high`, each as likely."""
    return low + (high - low) * rng.random()


class Part:
    """One tyre or one caliper's pads: where it was fitted, from when to when, and how much has worn off."""

    def __init__(self, kind, place, day, road, factor):
        self.kind, self.road, self.factor = kind, road, factor
        self.fittings, self.worn, self.since_km = [], 0.0, 0.0
        self.fit(place, day)

    def moment(self, day):
        """Odometer at a fitting, as entered: at noon, or the first of all."""
        return self.road.entered(day) if day < self.road.first else {"value": self.road.start, "unit": self.road.unit}

    def fit(self, place, day):
        self.place, self.since_km = place, self.moment(day)["value"] * self.road.km_per_unit
        self.fittings.append({"place": place, "from_days_ago": day, "from_odometer": self.moment(day),
                              "to_days_ago": None, "to_odometer": None})

    def leave(self, day, wear):
        self.worn = self.worn_at(self.road.km(day), wear)
        self.fittings[-1] |= {"to_days_ago": day, "to_odometer": self.moment(day)}

    def worn_at(self, km, wear):
        rate = wear[0 if self.place.startswith("front") else 1]
        return self.worn + self.factor * rate * (km - self.since_km) / 1000

    def touches(self, day):
        """Whether it came or went within the last `day` days."""
        return any(f["from_days_ago"] <= day or (f["to_days_ago"] or day + 1) <= day for f in self.fittings)

    def gone_by(self, day):
        return self.fittings[-1]["to_days_ago"] is not None and self.fittings[-1]["to_days_ago"] > day


class Wheels:
    """Tyres and brake pads of a vehicle as they wear, are moved and renewed."""

    def __init__(self, rng, spec, model, road):
        self.rng, self.spec, self.model, self.road = rng, spec, model, road
        self.parts, self.lowest_seen = [], {}
        self.tyres = {place: self.new("tyre", place, road.first) for place in PLACES}
        self.pads = {place: self.new("pad-set", place, road.first) for place in PLACES}

    def new(self, kind, place, day):
        factor = spread(self.rng, 0.96, 1.04) if kind == "tyre" else spread(self.rng, 0.94, 1.06)
        self.parts.append(Part(kind, place, day, self.road, factor))
        return self.parts[-1]

    def depth(self, place, km):
        return self.model["tread_mm"] - self.tyres[place].worn_at(km, self.model["tread_wear"])

    def pad(self, place, km):
        return PAD_NEW_MM - self.pads[place].worn_at(km, self.model["pad_wear"])

    def serve(self, visit):
        """Renews and moves tyres, and renews pads, as a careful workshop would on this visit."""
        km = self.road.km(visit["day"])
        if "tyre-check" in visit["rules"]:
            self.serve_tyres(visit, km)
        if "brake-inspection" in visit["rules"]:
            self.serve_pads(visit, km)

    def serve_pads(self, visit, km):
        fixed, day = self.spec.get("front_pads_fitted"), visit["day"]
        for axle in (PLACES[:2], PLACES[2:]):
            front = axle[0].startswith("front")
            thin = min(self.pad(place, km) for place in axle) < 5.0
            if fixed and front:
                thin = day == fixed or (thin and day > fixed)
            if thin:
                for place in axle:
                    self.pads[place].leave(day, self.model["pad_wear"])
                    self.pads[place] = self.new("pad-set", place, day)
                visit["fitted"].append((f"Brake pad set, {'front' if front else 'rear'}", "FN-6081", 1, 12400))

    def serve_tyres(self, visit, km):
        front, rear = (min(self.depth(p, km) for p in axle) for axle in (PLACES[:2], PLACES[2:]))
        day, everything = visit["day"], self.spec.get("tyres_fitted") == visit["day"]
        if everything or (front < 4.2 and rear < 4.2):
            self.renew(PLACES, visit)
        elif front < rear and front < 4.2:
            # Two new tyres go to the rear; those of the rear to the front.
            for place in PLACES[:2]:
                self.tyres[place].leave(day, self.model["tread_wear"])
            self.move(dict(zip(PLACES[2:], PLACES[:2])), day)
            self.renew(PLACES[2:], visit)
        elif rear < 4.2:
            self.renew(PLACES[2:], visit)
        elif 0.7 < rear - front < 1.5:
            self.move(dict(zip(PLACES, PLACES[2:] + PLACES[:2])), day)

    def renew(self, places, visit):
        for place in places:
            if self.tyres[place].place == place and self.tyres[place].fittings[-1]["to_days_ago"] is None:
                self.tyres[place].leave(visit["day"], self.model["tread_wear"])
            self.tyres[place] = self.new("tyre", place, visit["day"])
        visit["fitted"].append((self.model["tyre"], None, len(places), 11500 * len(places)))

    def move(self, moves, day):
        """Moves tyres from place to place, all at once."""
        moved = {target: self.tyres[source] for source, target in moves.items()}
        for target, tyre in moved.items():
            tyre.leave(day, self.model["tread_wear"])
            tyre.fit(target, day)
        self.tyres.update(moved)

    def tread(self, place, zone, day, km):
        one_sided = self.spec.get("one_sided_wear")
        if one_sided and (place, zone) == (one_sided["place"], one_sided["zone"]) and day < self.spec["tyres_fitted"]:
            tyre, end = self.tyres[place], self.road.km(self.spec["last_inspection"], 7 * 60)
            gone = (km - tyre.since_km) / (end - tyre.since_km)
            return self.model["tread_mm"] - (self.model["tread_mm"] - one_sided["down_to"]) * gone
        worn = self.model["tread_mm"] - self.depth(place, km)
        return self.model["tread_mm"] - worn * {"inner": 1.01, "centre": 0.96, "outer": 1.03}[zone]

    def read(self, key, exact_mm):
        """What the gauge shows: never more than it showed before of the same part at the same place."""
        noisy = exact_mm + spread(self.rng, -0.1, 0.1)
        if self.spec["unit"] == "mi":
            value, unit = round(noisy / MM_PER_32ND), "in32"
        else:
            value, unit = round(noisy, 1), "mm"
        value = min(value, self.lowest_seen.get(key, value))
        self.lowest_seen[key] = value
        return value, unit

    def measured_tread(self, place, day, km, zoned):
        tyre, exact = self.tyres[place], {z: self.tread(place, z, day, km) for z in ("inner", "centre", "outer")}
        if not zoned:
            exact = {"lowest": min(exact.values())}
        return [["tread-depth", place, z, *self.read((self.parts.index(tyre), place, z), mm)] for z, mm in exact.items()]

    def measured_pads(self, place, km):
        thickness = self.pad(place, km)
        exact = {"inner": thickness - 0.25 * (PAD_NEW_MM - thickness) / 8, "outer": thickness}
        return [["pad-thickness", place, z, *self.read((self.parts.index(self.pads[place]), place, z), mm)] for z, mm in exact.items()]

    def measured_pressure(self, place, newest):
        axle = 0 if place.startswith("front") else 1
        soft = self.spec.get("soft_tyre")
        share = spread(self.rng, 1.0, 1.02) if newest else spread(self.rng, 0.96, 1.01)
        if newest and soft and soft["place"] == place:
            share = soft["share"]
        elif newest:
            return ["cold-pressure", place, "whole", *self.pressure(self.placard(axle) * share, math.ceil)]
        return ["cold-pressure", place, "whole", *self.pressure(self.placard(axle) * share, round)]

    def placard(self, axle):
        return self.model["placard_psi" if self.spec["unit"] == "mi" else "placard_kpa"][axle]

    def pressure(self, value, rounding):
        return (rounding(value), "psi") if self.spec["unit"] == "mi" else (rounding(value / 5) * 5, "kPa")

    def components(self, since_day):
        """Parts of each kind that were fitted at any time since `since_day`, if one of the kind came or went in that time."""
        found = []
        for kind, product, new_mm in (("tyre", self.model["tyre"], self.model["tread_mm"]),
                                      ("pad-set", "Farrowmark brake pads FN-6081", PAD_NEW_MM)):
            parts = [p for p in self.parts if p.kind == kind]
            if any(p.touches(since_day) for p in parts):
                found += [(kind, product, new_mm, p) for p in parts if not p.gone_by(since_day)]
        return [{"ref": f"{self.spec['ref']}-{kind}-{n + 1}", "kind": kind, "product": product,
                 "depth_new": self.depth_new(new_mm), "fittings": part.fittings}
                for n, (kind, product, new_mm, part) in enumerate(found)]

    def depth_new(self, new_mm):
        in_inches = self.spec["unit"] == "mi"
        return {"value": round(new_mm / MM_PER_32ND) if in_inches else new_mm, "unit": "in32" if in_inches else "mm"}
