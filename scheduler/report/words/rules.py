"""The method's rules that are no formulas, in words."""

from __future__ import annotations

RULES: tuple[tuple[str, str], ...] = (
    (
        "96.25, not 96.3",
        "A gallon is 231 cubic inches, so 1 gpm on 1 ft² is 60 × 231 / 144 = 96.25 "
        "inches an hour, exactly.",
    ),
    (
        "ET0",
        "Given in the climate file, it is taken as it is. With temperatures alone "
        "it is Hargreaves-Samani (FAO56, eq. 52). With anything more it is the "
        "FAO-56 Penman-Monteith equation (eq. 6), for months or for each day as the"
        " file holds them: humidity from the dew point (eq. 14) or the mean "
        "humidity (eq. 19), else the dew point is taken as the minimum temperature "
        "(eq. 48); radiation as given, or from sunshine (eq. 35), else from the "
        "range of temperature, 0.16 inland, at most that of a clear sky (eq. 50); "
        "wind brought to 2 m (eq. 47), 2 m/s where there is none, never under 0.5 "
        "m/s; heat in the soil from the months before and after (eq. 43), none for "
        "a day (eq. 42). In the heat lost to the sky, measured over clear-sky "
        "radiation is held between 0.3 and 1.0 (ASCE05).",
    ),
    (
        "Months",
        "Months have 28, 30 or 31 days. Monthly plant coefficients of the program's"
        " table are northern, and move by half a year south of the equator; those "
        "of your own plants.csv are taken as you write them.",
    ),
    (
        "Frost",
        "A month with a mean minimum below freezing is off, unless water_in_frost "
        "says otherwise; where lines can freeze, one for more than half of which they "
        "are empty too: from the first hard freeze (28 °F) of half of the years to the "
        "last, or by the days that the site names. Dates come from years of days, "
        "eight at least, else from means of months, nights spread by a normal law.",
    ),
    (
        "Rain",
        "Rain is counted by TR-21, with the allowed depletion as the storage, or as"
        " a stated share, or not at all. Where the controller has a rain shut-off "
        "it is not counted, unless you say how: the shut-off takes it off already.",
    ),
    (
        "Uniformity",
        'Uniformity is what zones.csv gives, else the usual "good" value: rotor and'
        " multi-stream 0.70, spray 0.65, drip and bubbler 0.80. It is held down to "
        "the imbalance between heads: the mean rate on the driest quarter of their "
        "ground over the mean of all.",
    ),
    (
        "A modelled coverage",
        "A modelled coverage lowers it further where heads have their places and "
        "the model comes out lower, in still air or in the wind of [supply] from the "
        "worst of four sides, at most 20 mph. A catch-can test replaces all of "
        "these, for the minutes; volumes stay with the flow.",
    ),
    (
        "Peak rate",
        "Peak rate is the highest rate of any head on its own ground, arc × spacing"
        " × row spacing, or the zone's rate if that is higher. So a zone with one "
        "head of too much flow, or heads closer together in one place, is split for"
        " that place.",
    ),
    (
        "Flow and pressure",
        "The chart's flow is carried over to the pressure at your heads where both "
        "are known and nothing regulates it.",
    ),
    (
        "Spacing",
        "check compares how far apart heads stand with a share of their diameter of"
        " throw, less in wind; where the wind is not given, with half of it, head "
        "to head.",
    ),
    (
        "The store",
        "A zone is watered before its plants have used up the allowed depletion. "
        "The store is an estimate, so a tenth over it is let pass. But for light "
        "events (below) no gap is longer than the plant's longest gap, and no rain "
        "is counted on inside a gap.",
    ),
    (
        "Parts of a zone",
        "Each part of parts.csv is ground of its own under the zone's one valve. The "
        "setting kept is the one of least water that leaves no part short on more days "
        "than may be; by months the part that needs most decides, and the gap is as "
        "short as any part's. Cycles and soak are those of the part that takes water "
        "in worst. What sharing costs is found by planning each part on a valve of its "
        "own, and with heads of less water on the parts that need less, 40 to 95 % of "
        "the others' rate; under 1 % of the zone's water it is not told.",
    ),
    (
        "Choice of days",
        "The fewest permitted days a week whose longest gap is within the limit; "
        "among equals the most even set, then the earliest in the week. On odd or "
        "even dates the gaps are counted on the calendar, and the most days a week "
        "hold in its busiest week. A limit of 14 days or more waters every 14, 21 "
        "or 28 days, if the controller can. Where the permitted days are too few, "
        "all are taken, and a caution says so.",
    ),
    (
        "Gaps of plants",
        "No plant goes longer without water than its longest gap, nor, cacti, natives"
        " and trees above all, is it watered closer than its shortest. The longest "
        "comes first, then the law and what the controller can be set to: where they "
        "leave no such days, those that lie farthest apart are taken, and a caution "
        "says so. By days, plants that stand more than a week may have any interval, "
        "to an eighth of its days; lawns keep to weekdays.",
    ),
    (
        "Salt",
        "Salty water asks for more, so that a share of it washes below the roots: by "
        "FAO-29's formula, of the plant's threshold. Under a tenth nothing is added to"
        " sprinklers, whose wetter ground drains as much anyway. By days rain thins "
        "the water and washes too, as far as it passes through the roots in the years "
        "that are played; what is still lacking is added. A third is the most: beyond "
        "it other water or other plants are the way out, and a caution says what the "
        "soil comes to.",
    ),
    (
        "Light events",
        "Under 0.1 inch (2.5 mm) net, water wets leaves and not roots. So waterings"
        " are set further apart until each is worth it, as far as the store and 28 "
        "days let them, past the plant's longest gap if need be. A month that would"
        " not need that much in 28 days is off, and so is one whose run comes under"
        " half a step of the controller. This is not for drip and bubblers.",
    ),
    (
        "The store carries",
        "A month that needs less than half the allowed depletion, next to a month "
        "that needs nothing, is off. If the month after it waters, it makes up for "
        "it.",
    ),
    (
        "One watering",
        "No more than the root zone holds is put on in one watering. What is needed"
        " beyond that is told as unmet.",
    ),
    (
        "Cycles",
        "A run is split where water would stand deeper than the ground may hold. "
        "The longest cycle is held at 2 minutes at least, or one step of the "
        "controller if that is longer: shorter ones do little but fill the pipes. "
        "Where the ground takes less than that, cycle-too-short says so, the status"
        " is 3, and some water will run off. Starting from the least number of "
        "cycles, and trying up to two more, the first is taken whose day comes "
        "within 2 % under and 5 % over the minutes wanted; else the nearest. Water "
        "from drip is taken not to run off; bubblers fill basins 3 in deep, less on a "
        "slope, and wait until that has gone in.",
    ),
    (
        "Drip and trees",
        "Under drip and bubblers the ground is that of the canopies, where plants and "
        "canopy_* tell it. The share of the roots that gets wet is wetted_share, else "
        "that of the emitters' circles or strips: their width is that of NEH 623 by "
        "texture and root depth, for 1 gal/h, and goes with the flow's power 0.17. "
        "Intake tells the texture: coarse from 0.45 in/h, fine up to 0.20. Without "
        "emitters it is half. check asks for emitters that wet half of a canopy's "
        "ground, two at least, and doubts a tree's ground under 108 ft² (10 m²). No "
        "run of drip is shorter than three fillings of its lines.",
    ),
    (
        "Rain between emitters",
        "Emitters wet a share of the ground, rain all of it. So by days the ground "
        "between has a store of its own, as deep, which rain alone fills. Each share "
        "of the ground gives its share of the need by the water in it (FAO-56, eq. 84);"
        " what the unwetted gives less than that is asked of the wetted, and plants "
        "are dry when that lacks too much. So without rain the wetted ground carries "
        "the whole need, and in a wet season it is as if all of it were wetted. By "
        "months only the wetted store holds rain.",
    ),
    (
        "Soak",
        "Soak is the time for what stands on the ground to go in, rounded up to 5 "
        "minutes, and at least the controller's shortest. A run that is split only "
        "because the controller cannot run so long needs none.",
    ),
    (
        "Supply",
        "The design flow is the one you give, else the smallest of what can be "
        "worked out: the bucket test, the flow at which the meter takes 10 % of the"
        " static pressure, 75 % of the most that the meter may pass, and 5 ft/s in "
        "the service pipe.",
    ),
    (
        "Choice of nozzles",
        "Heads match where each is within 10 % of the zone's mean rate. Between the"
        " pressures of the chart, flow goes with the square root of pressure and "
        "throw in a straight line. Of the sets that match, reach the next head and "
        "stay within the supply, those that the ground takes in the fewest cycles "
        "come first; of these the one of most water; then the best matched; then "
        "the earliest in the chart. All sets are considered, not just the next best"
        " step. Where the supply's curve is known each set is judged at the pressure "
        "that its own flow leaves: less flow, more pressure and throw. Where only a "
        "rule of design binds (meter, velocity), the smallest set that matches is "
        "offered and told as over-design-flow. A nozzle that throws more than 1.2 "
        "times the spacing is taken only where no shorter one will do "
        "(throw-too-far), one that throws more than 1.25 times the spacing not at "
        "all: a radius screw takes a quarter. Short of "
        "the next head, it is taken where the spacing is still within the share of "
        "the diameter that the wind allows, and told (throw-short). Rows of a chart "
        "without a kind of head go into sprays to 18 ft (5.5 m) of throw, into "
        "rotors from 15 ft (4.6 m).",
    ),
    (
        "Coverage",
        "Each head's water is spread over its arc by a profile along the throw, "
        "triangular unless you say elliptical or uniform, and scaled so that none "
        "is lost. Only ground inside the outline counts, or between the outermost "
        "heads. The driest patch is the driest square of 5 % of the ground. In wind "
        "water drifts downwind by 2 % of the distance thrown for each mile an hour "
        "(after RICHARDS93, from memory), and the throw is 2 % narrower across it, as "
        "the trade's spacing by wind has it; drops lost to the air are not modelled.",
    ),
    (
        "Catch cans",
        "DU is the mean of the driest quarter of the cans over the mean of all; a "
        "quarter is the nearest whole number of cans, a half up.",
    ),
    (
        "The night",
        "Every minute of a run falls on a permitted date within the hours, so a "
        "window across midnight is one night only where both dates are permitted. "
        "Else a date has two pieces, its small hours and its evening. As many zones"
        " run at once as the controller and the supply allow, with the soak of each"
        " kept.",
    ),
    (
        "The card",
        "A card is judged as the table is, played through the years of days. Base run "
        "times, starts and percents are in the controller's steps; no run is under the "
        "least useful one, a percent that would give less is off. Each watering lays "
        "down between half and twice the table's depth, and dry shares stay within 5 "
        "points of the larger of the limit and the table's. Of such cards it looks for "
        "the one that costs least, counted in water: a dry day in a hundred over the "
        "limit costs 3 % of a zone's mean month, a watering of half the table's depth "
        "30 %, twice the days a week 1 % of its year, one start more 0.2 %; minutes "
        "are dearer where the nights are short. What the table waters every 21 days "
        "or more seldom may be started by hand, for 40 % of a month. A visit more has "
        "to save 0.5 %. Where no card keeps all limits, the one that breaks them least "
        "is given, with what would mend it.",
    ),
    (
        "The bill",
        "The bill goes up the tiers of each bill, in whole cents. Units are counted"
        " with their decimals: 41.81 units are billed as 41.81, where some "
        "suppliers bill whole units alone. Allowance and estimated use are those of"
        " the model landscape ordinance, in exact units: 144/231 gallons stand an "
        "inch deep on 1 ft², which the ordinance rounds to 0.62. The plant factor "
        "is the year's coefficient, months weighed by their ET0; the efficiency is "
        "0.75 overhead and 0.81 for drip and bubblers. Read the local one.",
    ),
    (
        "Intake and accumulation",
        "Basic intake rates are those of landscape scheduling tables, which hold "
        "for compacted lawn soils; field manuals give two to three times as much "
        "for loams. Allowed accumulation is by soil and slope: up to 3, 6, 12 %, "
        "and over. A slope between two classes goes with the steeper.",
    ),
    (
        "Rounding",
        "Minutes are rounded once, when they become cycles of whole controller "
        "steps. All that follows — minutes a week, inches applied, gallons — uses "
        "what is really keyed in. Nothing else is rounded but for showing it. The "
        "card has a second rounding: a run at a month's percent is taken to the "
        "nearest step of the controller, a half step up, so 8 minutes at 20 % are 2"
        " minutes and not 1 min 36 s. Most controllers that keep whole minutes do "
        "the same; on one that keeps the seconds of such a run, a zone gets up to "
        "half a step less or more from each start, and programs that follow each "
        "other closely may overlap by as much for each zone, or wait. A controller "
        "that drops the seconds gives less still: there, set "
        'percent_by = "none" or come by more often. A percent at which every run of'
        " its program is rounded to nothing is written as 0 (off).",
    ),
)
"""Name and text of each rule, in the order of the method."""
