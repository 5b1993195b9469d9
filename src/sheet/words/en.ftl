# The customer's words in English. Short sentences, one idea each; a number with its plain meaning.

## Titles
title-sheet = Brake findings, job { $job }
title-worksheet = Worksheet, job { $job }
title-tag = Wheel fastener check, job { $job }

## Labels
label-customer = Customer
label-vehicle = Vehicle
label-registration = Registration
label-vin = VIN
label-odometer = Odometer
label-date = Date
label-depth = Depth
label-people = Measured by
label-complaint = Your words
label-drive = May it be driven?
label-distance = How far each part may last
label-corner = Each wheel
label-vehicle-block = Whole vehicle
label-item = Part
label-reading = Reading
label-limit = Limit
label-whose = Whose limit
label-verdict = Verdict
label-looked = Looked at and sound
label-notes = Notes
label-photos = Photos
label-quote = The quote
label-quote-given = As quoted
label-choice = Strike out two
label-do-it = do it
label-leave-it = leave it
label-ask-me = ask me on
label-price = Price
label-if-not = If it is not done
label-decided = Decided
label-signature-line = Signature
label-retorque = Wheel fasteners: check them again
label-cut = tear off here
label-signature = Signature of the record
label-check = How to check it
label-digest = SHA-256 of the record
label-key = Key
label-signer = Signed by
label-signed-at = Signed on
label-revision = Revision
label-cautions = Please note
label-edition-workshop = Workshop's edition
label-technical = Readings and uncertainty
label-readings = Readings as entered
label-causes = Likely causes
label-cause = Cause
label-for = Speaks for it
label-against = Speaks against it
label-next-test = Next test
label-overrides = Questions answered, entries struck out
label-timeline = What happened, in order
label-time = Time
label-person = Who
label-event = What
label-uncertainty = u
label-probability = p
label-proof = Proof
label-instrument = Instrument
label-phase = State
label-new = New
label-order = Order of tightening
label-positions = Where to measure
label-write = Write here
label-torque = Torque
label-done = Done
label-replaced = Signs these fonts lack are shown as { "\u25A1" }:
label-found = as found
label-left = as left
label-worksheet-hint = Enter it later with
label-name = Name
label-band = The pale band about a mark shows where the true value lies.
label-page = Page

## Where
place-front-left = Front left
place-front-right = Front right
place-rear-left = Rear left
place-rear-right = Rear right
place-axle-left = Axle { $number } left
place-axle-right = Axle { $number } right
place-front-nearside = Front nearside
place-front-offside = Front offside
place-rear-nearside = Rear nearside
place-rear-offside = Rear offside
place-axle-nearside = Axle { $number } nearside
place-axle-offside = Axle { $number } offside
place-axle-front = Front axle
place-axle-rear = Rear axle
place-axle = Axle { $number }
place-vehicle = Vehicle

## What
item-wheel-seat = wheel seat on the hub
item-wheel-fasteners = wheel fasteners
item-hose = brake hose
item-pipe = brake pipe
item-sensor-speed = wheel-speed sensor
item-sensor-wear = pad-wear sensor
item-calliper-leak = calliper tightness
item-slide_pins = calliper slide pins
item-piston = calliper piston
item-springs = springs and clips
item-bolts-witness = calliper bolts
item-pads-condition = pad condition
item-pads-thickness = pad thickness
item-pads-inner_outer = inner and outer pad
item-disc-surface = disc surface
item-bearing-float = wheel bearing play
item-disc-runout = disc wobble
item-disc-thickness = disc thickness
item-disc-variation = disc thickness difference
item-hub-face = hub face
item-drum-diameter = drum diameter
item-linings-thickness = lining thickness
item-cylinder-leak = wheel cylinder tightness
item-torque-calliper = calliper fasteners
item-torque-wheel = wheel fasteners torqued
item-axle-disc_difference = left and right disc
item-axle-pad_difference = left and right pads
item-axle-imbalance = brake force left and right
item-fluid-boiling = brake fluid boiling point
item-fluid-level = brake fluid level
item-brake-service_efficiency = service brake
item-brake-parking_efficiency = parking brake
item-pedal-firm = brake pedal

## Verdicts
verdict-pass = holds
verdict-advise = watch
verdict-fail = not within limits
verdict-not-inspected = not seen
verdict-no-limit = no limit on file
verdict-incomplete = not all seen
proof-proven_in = proven in
proof-not_proven = not proven
proof-proven_out = proven out
proof-looked = looked at
phase-as_found = as found
phase-as_left = as left
customer-deleted = the name was deleted on request
customer-differs = the name on file is not the one recorded
depth-quick = quick: a few points of each disc
depth-full = full: every point of each disc

## May it be driven
drive-stop = No. Do not drive it before the points under “{ $now }” are put right.
drive-fail = Not yet. First put right the points under “{ $now }”.
drive-open = Nothing we saw speaks against it. We could not see everything: look under “{ $unseen }”.
drive-later = Yes. Plan the points under “{ $later }”.
drive-good = Yes. Everything we inspected holds.

## The four groups
group-now = Before it moves
group-later = Before a distance or a date
group-holds = Holds
group-unseen = Not seen
group-put-right = Put right in this visit
group-now-none = Nothing.
group-later-none = Nothing.
group-holds-none = Nothing is known to hold yet.
group-unseen-none = Nothing was left out.
until-stop = Do not drive.
until-handover = Before you take it back.
until-km = Before { $km } on the odometer.
until-date = Before { $date }.
until-km-date = Before { $km } on the odometer, or { $date }, whichever comes first.
until-watch = No distance is known. Have it looked at again at the next service.

## What was measured
measured = We measured { $value }.
measured-difference = The difference is { $value }.
measured-forces = The two wheels differ by { $value }.
measured-efficiency = It reaches { $value } of the vehicle's weight.
measured-boiling = It boils at { $value }.
limit-least = { $whose ->
    [maker] The maker allows no less than { $limit }.
    [mark] The mark on the part allows no less than { $limit }.
    [rule] The rule allows no less than { $limit }.
   *[policy] Our own figure is no less than { $limit }. The maker gives none.
}
limit-most = { $whose ->
    [maker] The maker allows no more than { $limit }.
    [mark] The mark on the part allows no more than { $limit }.
    [rule] The rule allows no more than { $limit }.
   *[policy] Our own figure is no more than { $limit }. The maker gives none.
}
whose-maker = maker
whose-mark = mark on the part
whose-rule = rule: { $source }
whose-rule-unconfirmed = rule: { $source } (unconfirmed)
whose-policy = our own figure; the maker gives none
new-is = New is { $value }.
at-least = at least { $limit }
at-most = at most { $limit }
chart-gauge = { $title }: { $value } between the limit { $limit } and new { $new }.
chart-gauge-no-new = { $title }: { $value }, limit { $limit }.
chart-runout = { $title } over one turn: { $value } in all, limit { $limit }.
chart-runout-no-limit = { $title } over one turn: { $value } in all.
chart-distance = A line from { $today } onward, with each wearing part at its earliest distance.
chart-today = today
chart-service = next service
chart-star = Order of tightening: { $order }.
chart-ring = Measuring points 1 to { $points }, in turning order from stud 1.
chart-qr = QR code of the job number, the revision and the digest.

## Why
why-beyond = That is past the limit.
why-half = Less than half of the maker's minimum is left.
why-at-limit = That is exactly at the limit.
why-unproven = That is so near the limit that our gauge cannot prove it.
why-again = It should be measured again before any part is changed.
why-little-left = { $left } is left above the limit.
why-plan = At { $plan } or less we plan a change.
why-forecast = It may reach its limit { $km } from today at the earliest.
why-shakes = You told us that it shakes. This can be the cause.
why-near = That is near the limit.
why-fluid-old = It has taken up water. Fresh fluid boils at { $dry } or more.
why-gauge = Our gauge was not in order for this. Nothing is proven before a new reading.
why-mark = The mark on the part and the data sheet differ. We use the stricter one.
why-floor = The difference is smaller than our gauge can tell.
why-side-left = The left side is thinner.
why-side-right = The right side is thinner.
why-inner = The inner pad is thinner.
why-outer = The outer pad is thinner.
why-more-than = More than { $limit } is a reason to look further.
why-override = Somebody here set this verdict by hand. The reason given: “{ $reason }”
why-not-counted = The force was too small to be judged.
note-given = The technician notes: “{ $note }”

## What follows from it
risk-disc-thickness = A thin disc gets hot sooner and may crack.
risk-disc-variation = The pedal may pulse, and it may grow.
risk-disc-runout = The wheel may begin to shake when you brake.
risk-pads-thickness = When the pad is used up, metal rubs on the disc.
risk-pads-inner_outer = One pad does more than the other. Something may stick.
risk-linings-thickness = When the lining is used up, metal rubs on the drum.
risk-drum-diameter = The shoes must travel further, and the drum gets weak.
risk-bearing-float = The wheel may wobble and the bearing may wear fast.
risk-axle-imbalance = The vehicle may pull to one side when you brake.
risk-axle-pad_difference = One side does more than the other.
risk-axle-disc_difference = One side does more than the other.
risk-fluid-boiling = On a long hill it may boil, and the pedal may go soft.
risk-brake-service_efficiency = The way to stop is longer.
risk-brake-parking_efficiency = It may not hold on a steep hill.

## What was not seen
unseen-told = It could not be inspected. The reason given: “{ $reason }”
unseen-nothing = It was on the list, and nothing was entered.
unseen-new-part = A new part was fitted and is not measured yet.
unseen-float = The wheel bearing has too much play. This reading is void with it.
unseen-unusable = The readings cannot be used. They must be taken again.
unseen-clicks = { $done ->
    [one] One of { $all } fasteners is confirmed at its torque.
   *[other] { $done } of { $all } fasteners are confirmed at their torque.
}
unseen-second-pass = The second round at full torque is not confirmed.
unseen-pedal = The pedal was not yet pumped and felt.
unseen-no-limit = Nobody's limit for it is on file.
pedal-soft = The pedal is not firm.
defect-unknown = A defect with the code “{ $code }” was noted.

## Defects
defect-wheel-seat-partly = The wheel is partly seized on the hub.
defect-wheel-seat-hard = The wheel is seized hard on the hub.
defect-wheel-seat-worn = The seat of the wheel is worn or corroded.
defect-wheel-fasteners-loose = A wheel fastener was loose.
defect-wheel-fasteners-missing = A wheel fastener is missing.
defect-wheel-fasteners-thread = The thread of a wheel fastener is damaged.
defect-wheel-fasteners-differs = One wheel fastener differs from the others.
defect-wheel-fasteners-rust = A wheel fastener is corroded.
defect-hose-leak = The hose leaks.
defect-hose-bulge = The hose bulges.
defect-hose-cords = The hose is worn to its cords.
defect-hose-twisted = The hose is twisted or kinked.
defect-hose-cracks = The hose is cracked on the surface.
defect-hose-chafe = The hose is chafed; its cords do not show.
defect-hose-bracket = A clip or bracket of the hose is loose.
defect-pipe-leak = The pipe or a union leaks.
defect-pipe-deep = More than a third of the pipe's wall is gone.
defect-pipe-rust = The pipe is rusted on the surface.
defect-pipe-support = A clip of the pipe is missing.
defect-sensor-speed-cut = The sensor's wire is cut or shorted.
defect-sensor-speed-fault = The lamp confirms a fault of the sensor.
defect-sensor-speed-damp = The sensor's connector is damp or corroded.
defect-sensor-speed-chafe = The sensor's wire is chafed.
defect-sensor-speed-clip = A clip of the sensor is loose.
defect-sensor-wear-cut = The wear sensor's wire is cut or shorted.
defect-sensor-wear-lamp = The pad-wear lamp is on.
defect-sensor-wear-damp = The wear sensor's connector is damp or corroded.
defect-sensor-wear-chafe = The wear sensor's wire is chafed.
defect-sensor-wear-clip = A clip of the wear sensor is loose.
defect-calliper-leak-leak = Brake fluid leaks at the calliper.
defect-calliper-leak-damp = The calliper is damp. Where it comes from is not clear.
defect-cylinder-leak-leak = Brake fluid leaks at the wheel cylinder.
defect-cylinder-leak-damp = The wheel cylinder is damp. Where it comes from is not clear.
defect-slide_pins-seized = A slide pin is seized.
defect-slide_pins-stiff = A slide pin is stiff.
defect-slide_pins-dry = A slide pin is dry.
defect-slide_pins-boot = The boot of a slide pin is torn.
defect-piston-seized = The piston is seized.
defect-piston-stiff = The piston is stiff.
defect-piston-boot = The boot of the piston is torn.
defect-springs-missing = A spring or clip is missing where a pad can bind.
defect-springs-weak = A spring or clip is weak.
defect-springs-jacked = A clip is lifted by rust.
defect-bolts-witness-loose = A bolt of calliper or suspension is loose.
defect-bolts-witness-fresh = A bolt shows fresh marks of recent work.
defect-bolts-witness-broken = A paint mark on a bolt is broken.
defect-pads-condition-metal = A pad is worn through: metal runs on metal.
defect-pads-condition-lifting = The friction material lifts from its plate.
defect-pads-condition-soaked = A pad is soaked with fluid or grease.
defect-pads-condition-cracked = A pad is cracked through.
defect-pads-condition-wrong = A wrong pad is fitted.
defect-pads-condition-stuck = A pad is not free in its carrier.
defect-pads-condition-glazed = A pad has a glassy surface.
defect-pads-condition-chips = A pad is chipped at its edge.
defect-disc-surface-crack = The disc is cracked.
defect-disc-surface-scored_deep = The disc is scored deeper than 1.5 mm.
defect-disc-surface-rusted = Most of a disc face is rusted.
defect-disc-surface-crazing = The disc has fine cracks from heat on its surface.
defect-disc-surface-scored = The disc is scored 0.5 to 1.5 mm deep.
defect-disc-surface-band = The disc has a rusty band on its face.
defect-disc-surface-blue = The disc is blue from heat.
defect-disc-surface-lip = The disc has a high lip on its edge.
defect-disc-surface-uneven = The pads do not touch the whole face of the disc.
defect-hub-face-rust = There is rust on the hub face.
defect-hub-face-dirt = There is dirt or a flake on the hub face.
defect-hub-face-burr = There is a burr on the hub face.
defect-bearing-float-rough = The wheel bearing runs rough.
defect-fluid-level-low_leak = The fluid is below its minimum, and there is a leak.
defect-fluid-level-low = The fluid is below its minimum.
defect-fluid-level-cap = The cap of the fluid is damaged or loose.
defect-pedal-firm-not_firm = The pedal is not firm.
defect-hose-porous = The hose is porous.
defect-hose-flattened = The hose is flattened.
defect-hose-likely_to_fail = The hose will not last much longer.
defect-hose-touching = The hose touches another part.
defect-hose-unsupported = The hose is not held by its bracket.
defect-pipe-cracked = The pipe is cracked.
defect-pipe-flattened = The pipe is flattened.
defect-pipe-chafe = The pipe is chafed by less than a third of its wall.
defect-pads-condition-missing = A pad is missing.
defect-pads-condition-wrongly_mounted = A pad is fitted the wrong way.
defect-pads-condition-worn_to_indicator = A pad is worn down to its wear mark.
defect-pads-condition-taper = A pad is worn on a slant.
defect-disc-surface-insecure = The disc is loose on the hub.
defect-disc-surface-missing = The disc is missing.
defect-disc-surface-contaminated = The disc is wet with oil or grease.
defect-disc-surface-hot_spots = The disc has spots from heat on its face.
defect-disc-surface-inner_face = The inner face of the disc is worse than the outer.
defect-disc-surface-obviously_worn = The disc is plainly worn.
defect-pedal-firm-sinks = The pedal sinks while it is held down.
defect-fluid-boiling-contaminated = The brake fluid is not clean.
defect-fluid-boiling-wrong = A wrong grade of brake fluid is filled.

## Quote
quote-none = No revised quote is on file for this job.
quote-given = “{ $text }”

## Slip, signature, cautions
retorque-sentence = Have the wheel fasteners checked at { $torque }.
retorque-no-torque = Have the wheel fasteners checked at the maker's torque.
retorque-due = { $days ->
    [one] Do it by { $km } on the odometer or within one day, whichever comes first.
   *[other] Do it by { $km } on the odometer or within { $days } days, whichever comes first.
}
retorque-by-date = That is by { $date }.
retorque-how = They must not be slackened first. Any that turns must be told to us.
not-signed = Not signed. No signed record stands behind this sheet.
signed = A signed record stands behind this sheet. It cannot be changed without being noticed.
check-how = Put the record, its signature and the file of signers in one folder. Then type:
caution-what = This sheet records an inspection and measurements made on the day.
caution-not-official = It is not a statutory inspection certificate and does not replace one.
caution-hidden = Brakes can fail from causes that cannot be seen at an inspection.
caution-law = The maker's instructions and the law where you live come first.
caution-retorque = Have the wheel fasteners checked again as stated.
photo-caption = Photo { $number }: { $place }, { $item }
photo-missing = Photo { $number } is not in the job's folder, or is not the one recorded.
photo-unreadable = Photo { $number } cannot be shown in this form.
caution-stands = Stand the vehicle on firm level ground. Never work under it on a jack alone.
caution-dust = Do not blow brake dust. It is harmful, and old linings may hold asbestos.
caution-hot = Discs may be hot.
caution-fluid = Brake fluid harms eyes, skin and paint.
caution-eject = Springs and pistons can jump out.
caution-torque = Final torque by torque wrench, in stages and in this order.
caution-pedal = The pedal must be firm before the vehicle moves.

## Worksheet
work-hint = The numbers are entered afterwards; this sheet is no record.
work-stages = { $stages }, then once more at full torque
work-readings = Readings { $from } to { $to }
work-swept = Lowest and highest of one slow turn
work-inner-outer = Inner and outer pad
work-open-closed = Open and closed edge
work-linings = Leading and trailing
work-value = Value
work-look = sound, or what was seen
work-no-limit = no limit on file

## Timeline
event-opened = Job opened
event-earlier = Earlier reading noted: { $place }, { $item }, { $value } at { $km }
event-fitted-before = { $place }, { $item }: fitted at { $km }, before this job
event-clockings = { $place }: clockings the disc can be fitted in: { $list }
event-zero = { $instrument } checked on { $standard }: { $text }
event-readings = { $count ->
    [one] { $place }, { $item }, { $phase }: one reading
   *[other] { $place }, { $item }, { $phase }: { $count } readings
}
event-seen-sound = { $place }, { $phase }: sound: { $item }
event-seen-defect = { $place }, { $item }, { $phase }: { $defect }
event-seen-not = { $place }, { $item }, { $phase }: not inspected, “{ $reason }”
event-struck = Entry { $target } struck out: “{ $reason }”
event-asked = { $place }, { $item }: “{ $entry }” was questioned ({ $question }), answered “{ $answer }”
event-note = Note, { $place }: “{ $text }”
event-photo = Photo added: { $place }, { $item }
event-cast = { $place }: mark on the part read, { $text }
event-fitted = { $place }: { $part } fitted
event-fitted-batch = { $place }: { $part } fitted, batch “{ $batch }”
event-complaint = { $outcome ->
    [gone] Road test of { $km }: the complaint is gone
    [better] Road test of { $km }: the complaint is smaller
    [same] Road test of { $km }: the complaint is the same
   *[not_tried] No road test was made
}
event-torque = { $count ->
    [one] { $place }: one torque step with { $instrument }
   *[other] { $place }: { $count } torque steps with { $instrument }
}
event-torque-refused = { $place }: { $instrument } refused for the final torque: { $reason }
event-gate-done = Before it moves: { $gate }
event-gate-not = Before it moves, not done: { $gate } “{ $reason }”
event-left = Vehicle left: “{ $text }”
event-signed = Revision { $revision } signed
event-override = { $place }, { $item }, { $phase }: verdict set to { $verdict } by hand, “{ $reason }”
event-override-second = { $place }, { $item }, { $phase }: verdict set to { $verdict } by hand, “{ $reason }”, with { $second }
override-refused = does not stand: { $why }
event-other = Entry of the kind “{ $kind }”
part-disc = disc
part-pads = pads
part-linings = linings
part-hose = hose
part-calliper = calliper or its pins
part-sensor_speed = wheel-speed sensor
part-sensor_wear = pad-wear sensor
part-cylinder = wheel cylinder
part-bearing = wheel bearing
part-drum = drum
part-fluid = brake fluid
gate-pedal_firm = pedal pumped until firm
gate-no_leak = no leak with the pedal held
gate-fluid_level = fluid level right, cap on
gate-parking_brake = parking brake out of its service mode
gate-tools = tools and magnets counted
gate-locking_key = key of the locking nut back
gate-lamps = lamps as they should be

## Calendar
calendar-retorque = Check wheel fasteners, { $vehicle }
calendar-service = Brake inspection, { $vehicle }
calendar-service-text = { $items ->
    [one] One part may reach its limit. The earliest distance is { $km }.
   *[other] { $items } parts may reach their limits. The earliest distance is { $km }.
}
calendar-service-plain = The next service is due at { $km }.

## Dates
date = { $day } { $month } { $year }
time = { $date }, { $clock }
month-1 = January
month-2 = February
month-3 = March
month-4 = April
month-5 = May
month-6 = June
month-7 = July
month-8 = August
month-9 = September
month-10 = October
month-11 = November
month-12 = December
