"""Every published source once: key, citation, where it was read, and how far we read it.

``status`` says how far a number may be trusted: *read* (the number was seen in the source), *second-hand* (seen where
somebody else quotes it), *from memory*, *common practice, no source*, *derived* (worked out here from the others), or
*definition* (exact by agreement). A number from memory never decides a pass or fail without saying so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

Status = Literal["read", "second-hand", "from memory", "common practice, no source", "derived", "definition"]


@dataclass(frozen=True, slots=True)
class Source:
    """One source: what it is, where it was read, how far, and what to know before leaning on it."""

    key: str
    citation: str
    where: str
    status: Status
    note: str


_EXCERPT: Final = "opening part of the page"
_ABSTRACT: Final = "abstract"
_NOT_OPENED: Final = "not opened"
_HERE: Final = "worked out here"

_ALL: Final = (
    # -- definitions and identities
    Source(
        "inch-pound-definitions",
        "International yard and pound agreement, 1959; US gallon of 231 cubic inches; standard gravity 9.80665 m/s2",
        "exact definitions",
        "definition",
        "Inch 0.0254 m, pound 0.45359237 kg, 32 °F at 273.15 K and 1.8 °F to 1 K: nothing is rounded.",
    ),
    Source(
        "nist-acre-2023",
        "NIST, retirement of the US survey foot at the end of 2022",
        _NOT_OPENED,
        "from memory",
        "An acre is 1/640 of an international square mile; the survey acre is 4 parts in a million larger.",
    ),
    Source(
        "user",
        "What the user entered",
        "the user's own entry",
        "definition",
        "Taken as given; its truth is the user's to check.",
    ),
    Source(
        "orifice-law",
        "Flow through an orifice goes with the square root of pressure over density",
        _HERE,
        "derived",
        "Checked against the printed examples of the flow-pressure topic.",
    ),
    Source(
        "rate-identity",
        "Flow is rate times speed times width",
        "exact identity",
        "definition",
        "The trade's constants are its unit conversions: 43560 * 12 / 88 in inch-pound units.",
    ),
    Source(
        "series-orifices",
        "Two orifices of equal discharge coefficient in series",
        _HERE,
        "derived",
        "No published table of pre-orifice pressure shares was found.",
    ),
    Source(
        "turn-geometry",
        "Speed across a boom that turns on a circle grows with distance from the centre",
        _HERE,
        "derived",
        "Agrees with the two extreme errors published for a 36.6 m boom.",
    ),
    Source(
        "minor-loss-quadratic",
        "Loss of valves, strainers and hoses goes with the square of flow",
        _HERE,
        "derived",
        "Turbulent flow; the coefficient is fitted from gauges, never taken from a table.",
    ),
    Source(
        "affinity-density",
        "A centrifugal pump gives the same head whatever the liquid, so its pressure goes with density",
        _HERE,
        "derived",
        "Viscosity is left out.",
    ),
    Source(
        "gum-triangular",
        "JCGM 100:2008, guide to the expression of uncertainty in measurement: triangular distribution",
        _NOT_OPENED,
        "from memory",
        "The least that slow, usual and fast say about a speed.",
    ),
    Source(
        "gum-jcgm-100",
        "JCGM 100:2008, guide to the expression of uncertainty in measurement",
        _NOT_OPENED,
        "from memory",
        "Propagation, Welch-Satterthwaite and coverage by t; the figures of its example H.1 are met.",
    ),
    Source(
        "guard-band-106",
        "JCGM 106:2012, role of measurement uncertainty in conformity assessment: guarded acceptance and rejection",
        _NOT_OPENED,
        "from memory",
        "Guard band of one whole expanded uncertainty; a reading inside it is undecided.",
    ),
    Source(
        "gum-example-h1",
        "JCGM 100:2008, example H.1: calibration of an end gauge",
        _NOT_OPENED,
        "from memory",
        "Its rounded steps: 32 nm, freedom 16, t of 2.92, 93 nm.",
    ),
    Source(
        "student-t",
        "Student's t, two-sided 95 %, as any table of statistics prints it",
        "scipy.stats",
        "derived",
        "Why a coverage factor of 2 is too small for a few repeats.",
    ),
    Source(
        "budgets-worked-here",
        "Uncertainty of a timed course, a weighed and a measured catch by the rules of the GUM",
        _HERE,
        "derived",
        "Course of 100 m, catches of 1200 g and 1200 mL; coverage factor 2.",
    ),
    Source(
        "common-practice-reaction",
        "A stopwatch worked by hand is 0.1 s off at each press",
        "said in the trade",
        "common practice, no source",
        "Taken as one standard deviation; it can be stated otherwise.",
    ),
    Source(
        "common-practice-eye",
        "Something seen by eye is known to half a second",
        "said in the trade",
        "common practice, no source",
        "A half width; taken for the last drip of a tip.",
    ),
    Source(
        "cornell-boom-worksheet",
        "Cornell University: boom sprayer calibration worksheet",
        _EXCERPT,
        "read",
        "Course of 100 ft or more, taped; tank half full, field surface, rolling start.",
    ),
    Source(
        "handout-200-ft",
        "University class handout on sprayer calibration: seconds to travel 200 ft by speed",
        "stored copy; publisher not shown",
        "second-hand",
        "Whole seconds: at 10 mph one second is 7 % of speed.",
    ),
    Source(
        "grdc-8-3",
        "GRDC Spray Application Manual, section 8.3, January 2025: section widths and nozzle spacing",
        _EXCERPT,
        "read",
        "Booms sold as 50 cm are often 20 in: 1.6 % of rate.",
    ),
    Source(
        "number-identity",
        "New over old calibration number is shown over true amount for pulses per amount, the inverse for its inverse",
        "exact identity",
        "definition",
        "No worked example of an extension service was found; checked by derivation.",
    ),
    Source(
        "own-choice-meter",
        "Limits for proving a flow meter: 1 % scatter, 2 % over the flows, 5 % from the tag, flows 1.5 times apart",
        _HERE,
        "derived",
        "Our own choice; no published tolerance was found. Three catches, five if they scatter.",
    ),
    Source(
        "air-buoyancy",
        "Weighing in air, as in the conversion of weighed water to volume of laboratory glassware standards",
        _NOT_OPENED,
        "from memory",
        "Air 1.2 kg/m3, adjusted weights 8000 kg/m3: 1.00105 for water.",
    ),
    Source(
        "highs-milp",
        "HiGHS mixed-integer solver as carried by scipy.optimize.milp",
        "library documentation",
        "read",
        "Branch and bound with a proof of optimality at gap 0.",
    ),
    Source(
        "p-median-lagrangian",
        "Lagrangian bounds of the p-median (facility location) problem, as in textbooks of discrete location",
        _NOT_OPENED,
        "from memory",
        "Used only to leave out tips that cannot be in a best plan; plans equal brute force on small cases.",
    ),
    # -- tip sizes
    Source(
        "iso-10625",
        "ISO 10625:2018, sprayer nozzles: colour coding for identification",
        "scope page; table not opened",
        "from memory",
        "0.4 L/min per size unit at 3 bar, 5 % tolerance; 110-03 = 1.2 L/min at 3 bar was read in two guides.",
    ),
    Source(
        "us-size-definition",
        "US practice: size is tenths of a US gallon of water per minute at 40 psi",
        "no better source than a forum post was read",
        "from memory",
        "1.3 % below the ISO nominal at the same pressure.",
    ),
    Source(
        "uk-nozzle-chart",
        "Nozzle selection chart for conventional boom sprayers treating cereals and oilseeds, UK cereals levy board",
        "stored copy, paperzz 8127884",
        "read",
        "Prints 1.2 L/min at 3.0 bar for 110-03.",
    ),
    Source(
        "catch-exponent",
        "Exponent of flow over pressure fitted to catches: normally 0.48 to 0.51",
        _NOT_OPENED,
        "from memory",
        "A fit further than 0.03 from a half is flagged, not judged.",
    ),
    Source(
        "reichard-1991",
        "Reichard, Ozkan & Fox 1991, Trans. ASAE 34(6):2309-2316",
        _ABSTRACT,
        "read",
        "Wear grows with the square root of hours; stainless lasted 5.6 times brass and 2.1 times nylon to +10 %.",
    ),
    # -- droplets
    Source(
        "asabe-s572",
        "ASABE S572 / ISO 25358, spray nozzle classification by droplet spectra",
        "quoted in GRDC manual section 4.2; text not opened",
        "from memory",
        "Classes are relative to reference sprays on the same instrument; codes and pressures are from memory.",
    ),
    Source(
        "reference-sprays",
        "USDA-ARS diameters of the reference sprays, as carried by an open implementation of the USDA-ARS models",
        "source text of that implementation",
        "second-hand",
        "From an aerial laboratory; absolute diameters differ between instruments by up to 58 %.",
    ),
    Source(
        "sheet-index",
        "Sheet index: droplet size of a fan relative to 110-03 at 3 bar, by the one-third law of sheet break-up",
        _HERE,
        "derived",
        "A reference tip lands on its own limit; leave-one-out error of the law 6.3 %.",
    ),
    Source(
        "droplet-boundary-0.7",
        "A class is stated as such from a probability of 0.7",
        _HERE,
        "derived",
        "Our choice: below it a tip stands on the boundary, and the answer is undecided.",
    ),
    Source(
        "dombrowski-johns-1963",
        "Dombrowski & Johns 1963, Chem. Eng. Sci. 18:203",
        "exponents in an open re-implementation of Ryan et al. 1995",
        "second-hand",
        "The factor 0.9614 is from memory.",
    ),
    Source(
        "kooij-2018",
        "Kooij, Sijs, Denn, Villermaux & Bonn 2018, Phys. Rev. X 8:031019",
        _NOT_OPENED,
        "from memory",
        "Same exponents; constant about 1.95 on the minor axis of the opening.",
    ),
    Source(
        "guler-2007",
        "Guler, Zhu, Ozkan, Derksen et al. 2007, Trans. ASABE: air-induction and conventional flat fans",
        _ABSTRACT,
        "read",
        "Exit orifice 2.1 to 2.75 times larger; no significant difference from a conventional tip of equal exit area.",
    ),
    Source(
        "ai-three-designs",
        "Droplet data of three air-induction 110-03 designs on water, Zenodo 10.5281/zenodo.5363478",
        "data file",
        "read",
        "Dv0.5 of 448, 472 and 819 um; the test pressure is not in the file.",
    ),
    Source(
        "grdc-droplets",
        "GRDC Spray Application Manual, section 4.2, January 2025",
        _EXCERPT,
        "read",
        "Below 150 um: medium up to 20 %, coarse under 10 %, very coarse under 5 % of volume.",
    ),
    # -- liquids
    Source(
        "kell-1975",
        "Kell 1975, J. Chem. Eng. Data 20:97, density of water",
        _NOT_OPENED,
        "from memory",
        "Within 0.004 kg/m3 of IAPWS-95 from 4 to 40 °C; the digits 16.879850 are easily transposed.",
    ),
    Source(
        "iapws-95",
        "IAPWS R6-95, thermodynamic properties of ordinary water",
        "python package iapws",
        "read",
        "The oracle of the water density.",
    ),
    Source(
        "iapws-r12-08",
        "IAPWS R12-08, viscosity of ordinary water",
        "python package iapws",
        "read",
        "The oracle of the water viscosity; check value 889.7351 uPa s at 298.15 K and 998 kg/m3.",
    ),
    Source(
        "iapws-sr6-08",
        "IAPWS SR6-08, liquid water at 0.1 MPa",
        _NOT_OPENED,
        "from memory",
        "Four-term viscosity; agrees with the full formulation within 0.2 % from 0 to 100 °C.",
    ),
    Source(
        "iapws-r1-76",
        "IAPWS R1-76 (2014), surface tension of ordinary water",
        "python package iapws",
        "read",
        "Equilibrium tension against vapour.",
    ),
    Source(
        "fluid-fertiliser-characteristics",
        "Estimated physical characteristics of fertiliser material (publisher not shown)",
        "stored copies studylib 18119690 and scribd 230568241, which agree",
        "read",
        "Typical weights; suppliers differ. The 30-0-0 weight at 60 °F is derived.",
    ),
    Source(
        "unl-cropwatch-2016",
        "University of Nebraska-Lincoln, CropWatch 2016: setting the sprayer flow rate for non-water solutions",
        _EXCERPT,
        "read",
        "Divides by 8.34 lb/gal; its 32-0-0 row prints 1.32 where its own weight gives 1.33.",
    ),
    Source(
        "uga-nonwater",
        "University of Georgia Extension: spraying solutions other than water",
        "stored copy, studylib 11102397",
        "read",
        "Multiply when choosing a tip for a solution rate, divide chart values to learn what the solution will do.",
    ),
    Source(
        "nitrogen-weight-explainer",
        "Explainer page: how much a gallon of 32 % nitrogen weighs",
        _EXCERPT,
        "second-hand",
        "Unsigned; a secondary check only.",
    ),
    # -- calibration by area
    Source(
        "countryco-boom",
        "Countryco Training, Queensland: calibration of boom spray equipment",
        _EXCERPT,
        "read",
        "A registered trainer's page.",
    ),
    Source(
        "uf-band-table",
        "University of Florida leaflet UF00067548: calibration table for band-spraying of herbicides, page 6",
        "scanned text",
        "read",
        "Its 18 oz row prints 20.5 where the exact value is 20.42.",
    ),
    Source(
        "florida-study-guide",
        "Study guide for Florida pest control examinations, page 213",
        _EXCERPT,
        "second-hand",
        "Restates the formulas of state publications.",
    ),
    Source(
        "idaho-band",
        "University of Idaho Extension, Minidoka County: calibration procedure for band application",
        _EXCERPT,
        "read",
        "For a band the width is the band actually sprayed.",
    ),
    Source(
        "mu-g1270a",
        "University of Missouri Extension G1270A: sprayer calibration worksheet",
        _EXCERPT,
        "read",
        "Says in words that slowing by a tenth over-applies by a similar amount.",
    ),
    Source(
        "ufa-50-m-course",
        "UFA co-operative, Alberta: calibrate a field sprayer over a 50 m course",
        _EXCERPT,
        "read",
        "Its multiplier for US gallons per acre is rounded 2.9 % high.",
    ),
    Source(
        "illinois-60-ways-55",
        "University of Illinois Extension, 60 ways farmers can protect surface water, no. 55",
        _EXCERPT,
        "read",
        "What ten per cent over costs.",
    ),
    Source(
        "lsu-ounce-method",
        "LSU AgCenter: ounces equal gallons",
        _EXCERPT,
        "read",
        "Uses 340 square feet for 1/128 acre and drops decimals.",
    ),
    Source(
        "msu-calibration",
        "Mississippi State University Extension: sprayer calibration",
        _EXCERPT,
        "read",
        "A 19-inch band worked step by step.",
    ),
    Source(
        "usu-no-math-2014",
        "Utah State University Extension, Horticulture/Vegetables/2014-03: calibration of a vegetable boom sprayer",
        "stored copy",
        "read",
        "Plot lengths by boom width.",
    ),
    Source(
        "ounce-method-slides",
        "Training slides on the 1/128 method for hand sprayers",
        "stored copy, slidegur 5284; publisher not shown",
        "second-hand",
        "Takes an ounce as 30 cc and a plot of 342 square feet as 1/128 acre.",
    ),
    Source(
        "turf-trade-course",
        "Course-distance table of a turf trade news site, 2013",
        _EXCERPT,
        "second-hand",
        "Drops decimals.",
    ),
    Source(
        "unl-applicator-math",
        "University of Nebraska-Lincoln: math for pesticide applicators",
        _EXCERPT,
        "read",
        "An 8.25 ft swath over a mile is an acre.",
    ),
    # -- catch tests
    Source(
        "rosner-1983",
        "Rosner 1983, Technometrics 25(2):165-172: percentage points for a generalized ESD many-outlier procedure",
        _NOT_OPENED,
        "second-hand",
        "The critical values follow from Student's t; carried by many open implementations.",
    ),
    Source(
        "nist-esd",
        "NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.5.17.3: generalized ESD test",
        "its data and table as carried by the handbook's own program file",
        "second-hand",
        "54 values, ten steps, three outliers at 5 %.",
    ),
    Source(
        "robust-median-mad",
        "Median and median absolute deviation as robust centre and scatter, as in textbooks of robust statistics",
        _NOT_OPENED,
        "from memory",
        "1.4826 times the median absolute deviation is the standard deviation of a normal distribution.",
    ),
    Source(
        "wetrun-catch-power",
        "Seeded simulation of catches over whole booms, docs/proof/catch.md",
        _HERE,
        "derived",
        "False alarms and detection over tip-to-tip spread and reading uncertainty.",
    ),
    Source(
        "unl-tip-5-percent",
        "University of Nebraska-Lincoln, regional press: replace a tip 5 % off the boom's average or 10 % over new",
        "trade press quoting it (joplinglobe.com)",
        "second-hand",
        "The same 5 % is in a University of Idaho sheet, the same 10 % over new in a Wyoming one.",
    ),
    Source(
        "uga-sb16",
        "University of Georgia Special Bulletin 16, 2002: tips within 10 % of the boom's average",
        _EXCERPT,
        "read",
        "An older bulletin; a Texas one has the same limit.",
    ),
    Source(
        "eioperator-5-percent",
        "UK farm-spraying trade magazine: test scheme allows 5 % of the maker's stated output",
        _EXCERPT,
        "read",
        "A voluntary scheme's window.",
    ),
    Source(
        "iso-16122-2",
        "ISO 16122-2, inspection of sprayers in use: horizontal boom sprayers",
        "scope page; text not opened",
        "from memory",
        "The 2015 edition was replaced in 2024; gauges within 0.2 bar up to 2 bar and 10 % of the reading above.",
    ),
    Source(
        "iso-16119-2",
        "ISO 16119-2 (EN 12761-2), new sprayers: horizontal boom sprayers",
        "scope page; text not opened",
        "from memory",
        "Tips within 5 % of nominal, CV 7 % at the stated height and pressure, 9 % over the range.",
    ),
    Source(
        "coefficient-of-variation",
        "Standard deviation of a sample (n - 1) over the mean",
        "exact identity",
        "definition",
        "CV = 100 s / mean where it is given in per cent.",
    ),
    Source(
        "sciendo-wear-2018",
        "Agricultural Engineering 2018, doi 10.1515/agriceng-2018-0037: flat fans under accelerated wear",
        _ABSTRACT,
        "read",
        "10 % over at 30 to 35 h and 27.5 % at the end: nearly straight in time.",
    ),
    Source(
        "boom-yaw-2003",
        "Crop Protection 2003, 22:813-820: variation along the track from a boom that yaws, field and laboratory",
        _EXCERPT,
        "read",
        "8.81, 6.9 and 10.9 % in the field against 9.17, 8.17 and 10.96 % in the laboratory; not across the boom.",
    ),
    Source(
        "bootstrap-stain-2019",
        "Sustainability 2019, 11(24):7037, doi 10.3390/su11247037: size 03 tips after 10 % laboratory wear",
        "stored copy",
        "read",
        "1.17 L/min new, 1.29 L/min worn.",
    ),
    Source(
        "common-practice-replace-set",
        "Replace the whole set once more than a tip in ten is off",
        "said in the trade",
        "common practice, no source",
        "Tips of one age wear together, and new ones among worn ones are the next uneven boom.",
    ),
    # -- pressure, controllers, turns, pulses
    Source(
        "isu-crop-news-844",
        "Iowa State University Extension, Crop News 844: travel speed, pressure and drift",
        _EXCERPT,
        "read",
        "A quarter more speed needs 56 % more pressure.",
    ),
    Source(
        "core-manual-11",
        "Summary of the National Pesticide Applicator Certification Core Manual, chapter 11",
        "exam-preparation page",
        "second-hand",
        "Twice the flow or speed takes four times the pressure.",
    ),
    Source(
        "sprayers101-pressure",
        "Sprayers101, 2020: pressure, spray and coverage",
        _EXCERPT,
        "read",
        "No air-induction tip below about 30 psi, most do best above 60 psi.",
    ),
    Source(
        "ksu-mf3178",
        "Kansas State University MF3178: nozzle types and their pressure ranges",
        _EXCERPT,
        "read",
        "Flat fans 15 or 30 to 60 psi.",
    ),
    Source(
        "memory-tip-ranges",
        "Usual pressure ranges of pre-orifice, air-induction and streamer tips",
        _NOT_OPENED,
        "from memory",
        "Ask for the maker's rows.",
    ),
    Source(
        "common-practice-8-10-mph",
        "One tip commonly spans about 8 to 10 mph at one rate",
        "said in the trade",
        "common practice, no source",
        "What a tip spans follows from its pressure range: the root of the pressure ratio.",
    ),
    Source(
        "osu-5-percent",
        "Ohio State University Extension: finished rate within 5 % of the intended rate",
        "trade press quoting it (agproud 34729)",
        "second-hand",
        "Attributed there to USDA and EPA.",
    ),
    Source(
        "iclass-2018-334",
        "ICLASS 2018, paper 334: worn tips under a rate controller",
        _ABSTRACT,
        "read",
        "Wear shows as lower pressure at the same speed, not as a higher rate.",
    ),
    Source(
        "vt-442-452",
        "Virginia Tech 442-452: pump sizing",
        _EXCERPT,
        "read",
        "Boom flow at top speed and rate, agitation, then about 20 % for wear.",
    ),
    Source(
        "grdc-13-3",
        "GRDC Spray Application Manual, section 13.3, January 2025: settings of rate controllers",
        _EXCERPT,
        "read",
        "Minimum hold by pressure, flow, speed or duty.",
    ),
    Source(
        "grdc-17-3",
        "GRDC Spray Application Manual, section 17.3, January 2025: running pulse-width machines",
        _EXCERPT,
        "read",
        "Its 80 L/ha example names size 025 at full duty; 1.2 L/min at 3 bar needs size 03. Distances are right.",
    ),
    Source(
        "grdc-17-4",
        "GRDC Spray Application Manual, section 17.4, January 2025: orifice sizes for pulse-width machines",
        _EXCERPT,
        "read",
        "Air-induction tips are generally not pulsed below 30 to 40 % duty; many systems bar them.",
    ),
    Source(
        "uga-1277-1305",
        "University of Georgia Extension Circulars 1277 and 1305: pulse-width modulation",
        _EXCERPT,
        "read",
        "Usable duty 20 to 100 %, 10 to 20 Hz.",
    ),
    Source(
        "sprayers101-pwm",
        "Sprayers101: how to size a tip for pulse-width modulation",
        _EXCERPT,
        "read",
        "Its 20 to 40 % gains are percentage points of capacity, not per cent of the flow in use.",
    ),
    Source(
        "isu-turn-compensation-2021",
        "Iowa State University Extension, 2021: turn compensation of pulse-width sprayers",
        _EXCERPT,
        "read",
        "A 120 ft boom round a 40 ft circle.",
    ),
    Source(
        "fabula-2022",
        "Fabula, Sharda & Mishler 2022, Precision Agriculture, doi 10.1007/s11119-022-09903-5",
        _ABSTRACT,
        "read",
        "Errors from -48.2 to +1058 % across a 36.6 m boom in turns.",
    ),
    # -- pipes, fans and evenness
    Source(
        "darcy-weisbach",
        "Darcy-Weisbach law of pipe friction; 64/Re in laminar flow",
        "textbook law, worked out here",
        "derived",
        "The bridge from Reynolds number 2000 to 4000 is our choice: a straight line in the logarithms.",
    ),
    Source(
        "swamee-jain-1976",
        "Swamee & Jain 1976, J. Hydraul. Div. ASCE 102(5):657-664",
        "as carried by the python package fluids",
        "second-hand",
        "The authors claim 1 % of Colebrook's curve from Re 5000; found here: 3 % there, 1.2 % above 1e5.",
    ),
    Source(
        "fluids-package",
        "Python package fluids: Swamee-Jain, Haaland and Colebrook friction factors",
        "package, run as an oracle",
        "read",
        "Colebrook solved in closed form.",
    ),
    Source(
        "christiansen-1942",
        "Christiansen 1942, Irrigation by sprinkling, California Agr. Exp. Sta. Bulletin 670",
        _NOT_OPENED,
        "from memory",
        "F = 1/(m+1) + 1/(2N) + sqrt(m-1)/(6 N^2), first outlet a full spacing in; agrees with the exact sum.",
    ),
    Source(
        "uan-viscosity",
        "Viscosity of UAN about 3.4 times that of water at the same temperature",
        _NOT_OPENED,
        "from memory",
        "Unsure; used for line friction only, where a third off moves the loss by 6 %.",
    ),
    Source(
        "fan-geometry",
        "Width of a fan is twice its height times the tangent of half its angle",
        _HERE,
        "derived",
        "The most a fan can be; real fans are narrower at low pressure and with distance.",
    ),
    Source(
        "pattern-superposition",
        "Patterns of tips side by side add up; the Fourier series of the sum gives its variation",
        _HERE,
        "derived",
        "Fans that meet in the air are taken not to disturb one another.",
    ),
    Source(
        "sprayers101-spacing",
        "Sprayers101: broadcast boom nozzle spacing",
        _EXCERPT,
        "read",
        "Low-drift tips want each fan twice the spacing wide at the target.",
    ),
    Source(
        "czech-207-2012",
        "Czech Decree 207/2012, annex 7.9: inspection of sprayers in use (transposes the EU rules)",
        "public text of the decree",
        "read",
        "Variation 10 %, each 100 mm groove within 20 % of the mean, each tip within 10 % of nominal.",
    ),
    # -- ramp, sections, gates, the day
    Source(
        "first-order-lag",
        "Step response of a first-order lag with delay, as in any textbook of control",
        _HERE,
        "derived",
        "The change left falls by the same share in every second; held against scipy.signal in the tests.",
    ),
    Source(
        "lomb-1976",
        "Lomb 1976, Astrophys. Space Sci. 39:447, least-squares frequency analysis of unequally spaced data",
        _NOT_OPENED,
        "from memory",
        "One sine at a time, by least squares.",
    ),
    Source(
        "iso-16122-2-closing",
        "ISO 16122-2, inspection of sprayers in use: pressure may move by 10 % when sections close",
        _NOT_OPENED,
        "from memory",
        "Check the edition in force before a machine is failed by it.",
    ),
    Source(
        "drip-after-shut-off",
        "Agriland, Ireland: ten things to check on a sprayer before its test",
        _EXCERPT,
        "read",
        "No drip later than five seconds after the spray has collapsed.",
    ),
    Source(
        "sharda-boom-valves",
        "Sharda et al., two-way against metered three-way boom shut-off valves for automatic section control",
        _ABSTRACT,
        "read",
        "Settling up to 34.3 s with two-way, 0.1 to 4.2 s with metered three-way valves: context, no limit.",
    ),
    Source(
        "section-control-settling",
        "Summary of field work on section control in point rows",
        "summary page",
        "second-hand",
        "Settling in 0.4 to 14.4 s, off rate by -36.6 to +28.7 % meanwhile: context, no limit.",
    ),
    Source(
        "ramp-own-choice",
        "A controller that settles within five seconds is not called slow",
        _HERE,
        "common practice, no source",
        "Our own choice within the span that was measured; it is shown beside a ramp and never decides it.",
    ),
    Source(
        "wet-run-gates",
        "What is looked at before water flows through a used sprayer",
        _HERE,
        "common practice, no source",
        "The label, the site's rules and local law come first.",
    ),
    Source(
        "day-plan-own-choice",
        "Times, water and uncertainties of a day's tests, and how doubtful an unproved machine is",
        _HERE,
        "common practice, no source",
        "Our own choice, to order tests by; no verdict rests on it.",
    ),
    Source(
        "gaussian-information",
        "Independent normal readings add their inverse covariances",
        _HERE,
        "derived",
        "Held against conditioning of the joint covariance in the tests.",
    ),
    # -- changing over: the order of passes, and the steps of a clean-out
    Source(
        "held-karp-1962",
        "Held & Karp 1962, J. SIAM 10:196: dynamic programming over sets for sequencing problems",
        _NOT_OPENED,
        "from memory",
        "The method only; its answers are held against every order of random small seasons.",
    ),
    Source(
        "unl-qa-2018",
        "University of Nebraska-Lincoln: questions and answers on sprayer clean-out, March 2018",
        "trade press quoting it",
        "second-hand",
        "Record how and when it was cleaned; repeat loads of the same mix need no clean-out between.",
    ),
    Source(
        "dtn-2017",
        "DTN/Progressive Farmer, 17 February 2017: cleaning out the sprayer",
        _EXCERPT,
        "read",
        "Do not leave the mix overnight; spray out and drain as fully as possible first.",
    ),
    Source(
        "dtn-2018",
        "DTN/Progressive Farmer, 27 April 2018: cleaning out between products",
        _EXCERPT,
        "read",
        "Record the clean-out; repeat loads of the same mix need none between.",
    ),
    Source(
        "osu-cleanout-2018",
        "Ohio State University Extension, June 2018: avoid crop damage with careful sprayer clean-out",
        "newspaper column, quoting Purdue Extension",
        "read",
        "An “empty” sprayer holds spray in sump, hoses, boom and valves; the next load's adjuvants can strip it loose.",
    ),
    Source(
        "purdue-cleanout",
        "Purdue Pesticide Programs: removing herbicide residues from application equipment",
        "trade press quoting it (no-tillfarmer 7574)",
        "second-hand",
        "Three rinses of enough water matter more than the cleaner's brand; a dirty nurse tank has supplied hot loads.",
    ),
    Source(
        "grdc-7-2",
        "GRDC Spray Application Manual, section 7.2, January 2025: chemicals and water",
        _EXCERPT,
        "read",
        "Chlorine bleach and ammonia together give off toxic gas.",
    ),
    Source(
        "grdc-7-3",
        "GRDC Spray Application Manual, section 7.3, January 2025: cleaning and decontamination",
        _EXCERPT,
        "read",
        "Flush at once: an hour's delay can more than double what binds. Outside and bodies too; vary the site.",
    ),
    Source(
        "sprayers101-cleaning",
        "Sprayers101: sprayer cleaning",
        _EXCERPT,
        "read",
        "Tips, screens, strainers and end caps off and brushed; ammonia for most sulfonylureas, the label decides.",
    ),
    Source(
        "bleach-and-ammonium",
        "Chlorine bleach gives off toxic gas with ammonium salts and nitrogen fertiliser too",
        _NOT_OPENED,
        "from memory",
        "A caution only; it bars a cleaner and lets nothing pass.",
    ),
    Source(
        "memory-boom-ends-last",
        "Boom ends are opened last, when the sections have been sprayed out",
        _NOT_OPENED,
        "from memory",
        "Order only; the label and the maker's manual come first.",
    ),
    Source(
        "common-practice-cleanout",
        "Steps of a clean-out that the trade takes for granted",
        "said in the trade",
        "common practice, no source",
        "The label's own steps come first, and where they differ they win.",
    ),
    Source(
        "common-practice-winter",
        "Draining a sprayer for the winter, antifreeze in it, and flushing it out in spring",
        "said in the trade",
        "common practice, no source",
        "The maker's manual comes first; where the fluid may go, its own label and local rules say.",
    ),
    # -- cross-check of a wet run
    Source(
        "narasimhan-jordache-2000",
        "Narasimhan & Jordache 2000, Data Reconciliation & Gross Error Detection, chapters 1 and 7",
        "biased readings seen in an openly kept model of the same example; book not opened",
        "second-hand",
        "Heat exchanger with bypass; its statistics are from memory and were worked out again here.",
    ),
    Source(
        "crowe-projection",
        "Crowe, Garcia Campos & Hrymak 1983, AIChE J. 29:881: unmeasured quantities projected out of balances",
        _NOT_OPENED,
        "from memory",
        "Any basis of the left null space gives the same reconciled readings.",
    ),
    Source(
        "mah-tamhane-1982",
        "Mah & Tamhane 1982, AIChE J. 28:828: detection of gross errors in process data, with Sidak's limit",
        _NOT_OPENED,
        "from memory",
        "Two-sided limit of each of n standardised changes.",
    ),
    Source(
        "narasimhan-mah-1987",
        "Narasimhan & Mah 1987, AIChE J. 33:1514: generalised likelihood ratio for gross errors",
        _NOT_OPENED,
        "from memory",
        "A fault is a signature in the residuals; size and statistic follow in closed form.",
    ),
    Source(
        "serial-elimination",
        "Ripps 1965 and Serth & Heenan 1986: readings left out one after the other until the rest agrees",
        _NOT_OPENED,
        "from memory",
        "Ours chooses both names anew at the second step.",
    ),
    Source(
        "krishnamoorthy-yu-2004",
        "Krishnamoorthy & Yu 2004, Stat. Probab. Lett. 66:161: freedom of a sum of estimated covariances",
        _NOT_OPENED,
        "from memory",
        "Used for causes of one direction each; held against 20,000 simulated wet runs per reading set.",
    ),
    Source(
        "sobol-points",
        "Sobol 1967 and Owen's scrambling, evenly spread points as carried by scipy.stats.qmc",
        "library documentation",
        "read",
        "Always the same scramble: an integral, not a chance.",
    ),
    # -- changing over
    Source(
        "ideal-mixing-dilution",
        "Material balance over perfectly mixed volumes: batches R/(R+V), continuous exp(-V/R), dead volumes (C-Cd)/tau",
        _HERE,
        "derived",
        "Leaves out what is sorbed or dried on. Exact for volumes that stand still.",
    ),
    Source(
        "magnus-exponential",
        "Magnus 1954, Comm. Pure Appl. Math. 7:649: linear equations whose coefficients change; first term by slices",
        _NOT_OPENED,
        "from memory",
        "Held against an independent integration in tests/oracles.",
    ),
    Source(
        "uniformisation",
        "Jensen 1953: uniformisation of a continuous-time Markov chain, a positive series for its exponential",
        _NOT_OPENED,
        "from memory",
        "Held against scipy.linalg.expm in tests/oracles.",
    ),
    Source(
        "section-front",
        "A sharp front in a section whose flow falls tip by tip: V/q times the harmonic number of its tips",
        _HERE,
        "derived",
        "For the section as a whole, sharp front and full mixing give the same output, so the balance needs no choice.",
    ),
    Source(
        "cornell-remnants",
        "Cornell University: cleaning sprayers after use, table of liquid left in parts of drained sprayers",
        _EXCERPT,
        "read",
        "Two of three columns seen: tanks of 159 and 396 gal. Parts as printed; their division into circuits is ours.",
    ),
    Source(
        "omafra-empty-sprayer",
        "OMAFRA 2017, slides on continuous rinsing: an empty large sprayer holds about 20 US gal",
        "stored copy of the slides",
        "second-hand",
        "In lines, sump and pump. Another paper says 5 to 15 gal. Divided here like the Cornell remnants.",
    ),
    Source(
        "purdue-boom-volumes",
        "Purdue Extension, Removing Herbicide Residues from Agricultural Application Equipment, quoted in Ohio, 2018",
        _EXCERPT,
        "second-hand",
        "Booms of 80, 90 and 120 ft hold 18, 25 and 35 gal.",
    ),
    Source(
        "common-practice-plumbing",
        "Typical volumes of hoses, valves and strainers, pump flows, and unswept shares of strainers and valves",
        "said in the trade",
        "common practice, no source",
        "To be measured on the machine; every result says which volumes are typical.",
    ),
    Source(
        "own-choice-exchange",
        "Exchange time of dead volumes: five minutes",
        _HERE,
        "derived",
        "So that ten minutes of flushing leave 13.5 %, amid the 10 to 15 % found in valves, boom ends and filters.",
    ),
    Source(
        "sprayers101-continuous",
        "sprayers101.com: continuous rinsing",
        _EXCERPT,
        "read",
        "10-15 % of the tank's concentration in valves, boom ends and filters at 1-2 % out of the tips; limits in law.",
    ),
    Source(
        "iso-16119-rinse",
        "ISO 16119-3 and -4:2013/2014: rinse tank, and dilution by 300 or to 2 %",
        "extracts of the standard",
        "second-hand",
        "Parts for bush and tree and for fixed sprayers; the boom sprayer part was not seen.",
    ),
    Source(
        "iso-11783-10",
        "ISO 11783-10, tractors and machinery: task controller and management information system data interchange",
        _NOT_OPENED,
        "from memory",
        "Layout of binary time logs and meaning of the XML attributes; held against open logs and a decode of them.",
    ),
    Source(
        "iso-11783-11",
        "ISO 11783-11, tractors and machinery: mobile data element dictionary; open data base at isobus.net",
        "open copy of the data base",
        "read",
        "Numbers, units and resolutions; the packed section states are those of entries 161 and 290.",
    ),
    Source(
        "iso-11783-pgn",
        "Speed messages of a tractor's network: 65096 wheel, 65097 radar, 129026 satellite receiver",
        _NOT_OPENED,
        "from memory",
        "Message numbers were read; which bits carry the speed and what a step is worth are from memory.",
    ),
    Source(
        "iso-11783-1-name",
        "ISO 11783-1 and -5, tractors and machinery: the network name of a machine and its device class",
        _NOT_OPENED,
        "from memory",
        "Only the seven bits of the device class are read, to name the kind of machine.",
    ),
    Source(
        "iso-16236",
        "ISO 16236:2013: drainable volume and concentration, rinse water in three equal portions",
        _EXCERPT,
        "second-hand",
        "Clean tank over 3, or a tenth of it over 3.",
    ),
    Source(
        "auburn-dicamba-2020",
        "Agronomy 10(6) 772 (2020), Auburn and Nebraska: dicamba left after triple rinse, and soybean response",
        _ABSTRACT,
        "read",
        "25 farm sprayers; symptoms from 0.028-0.03 g/ha on 560, 5 % injury at 0.1185, 5 % of yield at 2.8525.",
    ),
    Source(
        "industrial-rinsing",
        "Exponential rinsing, text on industrial cleaning",
        _EXCERPT,
        "read",
        "Not of this trade; one rinse of 300 gal against three of 100.",
    ),
    Source(
        "osu-adjuvants-strip",
        "Ohio State University Extension column, 2018: adjuvants of the next load strip old residue loose",
        _EXCERPT,
        "read",
        "Why a result never says more than: diluted to this if nothing is bound.",
    ),
    # -- tank loads, mixing order, jar test, agitation
    Source(
        "missouri-recipe",
        "Corn and Soybean Digest: get the recipe right, with a University of Missouri agricultural engineer",
        _EXCERPT,
        "second-hand",
        "Active to product, acres per tank, product per tank.",
    ),
    Source(
        "gallons-per-acre-blog",
        "Chemical retailer: gallons per acre in five steps",
        _EXCERPT,
        "second-hand",
        "Rate from 1000 square feet.",
    ),
    Source(
        "largest-remainder",
        "Whole parts of a whole number by the largest remainders (Hamilton's method)",
        _NOT_OPENED,
        "from memory",
        "Parts add up exactly and each is within one step of its proportion; shown so in the tests.",
    ),
    Source(
        "ndsu-ams-2015",
        "North Dakota State University, Crop & Pest Report, 2 July 2015: ammonium sulfate by water test",
        _EXCERPT,
        "read",
        "4 to 6 lb per 100 gal answers most hard water; labels ask 8.5 to 17. The label decides.",
    ),
    Source(
        "osu-mixing-order",
        "Oklahoma State University Extension: herbicide mixing order, A-W-A-M-L-E-S",
        _EXCERPT,
        "read",
        "Tank half to three quarters full first; rinse the inductor after every product. The label is above it.",
    ),
    Source(
        "nd-weed-guide-apples",
        "North Dakota Weed Control Guide 2021, A.P.P.L.E.S., as a book page quotes it",
        "opening part of a page that quotes it",
        "second-hand",
        "Solutions after emulsions, oils with the emulsions; the copy read breaks off where it comes to surfactants.",
    ),
    Source(
        "sdsu-mixing-order",
        "South Dakota State University Extension: preparing spray solutions, mixing order",
        _EXCERPT,
        "read",
        "One third of the carrier first, 80 % before the liquids; microcapsules after emulsifiable concentrates.",
    ),
    Source(
        "grdc-7-5",
        "GRDC Spray Application Manual, section 7.5, January 2025: the jar test",
        _EXCERPT,
        "read",
        "Rates per hectare divided by 100, the same water and first fill (60 % in its example); a jar of a litre.",
    ),
    Source(
        "usu-jar-test",
        "Utah Pests News, winter 2012: proper tank mixing using the jar test",
        _EXCERPT,
        "read",
        "Shake, stand 15 minutes, look again; layers, clumps, foam, sludge or warmth mean incompatible.",
    ),
    Source(
        "bleach-and-ammonia",
        "GRDC Spray Application Manual, section 7.2, January 2025; Purdue Pesticide Programs in No-Till Farmer",
        _EXCERPT,
        "read",
        "Chlorine bleach and ammonia together give a toxic gas.",
    ),
    Source(
        "grdc-pump-video",
        "GRDC spray manual videos: pump capacity and agitation",
        "transcript",
        "read",
        "2 to 3 % of the tank a minute. Its spoken turnover of 15 to 20 minutes does not follow from that.",
    ),
    Source(
        "pump-20-percent",
        "Exam preparation site: the 20 % rule for choosing a pump",
        _EXCERPT,
        "second-hand",
        "12 gal/min for a need of 10.",
    ),
)

SOURCES: Final[Mapping[str, Source]] = MappingProxyType({entry.key: entry for entry in _ALL})


def source(key: str) -> Source:
    """Return the source of a key.

    Parameters
    ----------
    key : str
        As docstrings and results name it.

    Returns
    -------
    Source
        Citation, place, status and note.

    Raises
    ------
    KeyError
        A key that is not kept; the message names keys that look like it.

    Example
    -------
    >>> source("kell-1975").status
    'from memory'
    """
    if key not in SOURCES:
        alike = [known for known in SOURCES if known.split("-")[0] == key.split("-", maxsplit=1)[0]]
        hint = f"did you mean {' or '.join(alike)}?" if alike else "every key stands in wetrun.sources"
        raise KeyError(f"no source is kept under “{key}”: {hint}")
    return SOURCES[key]
