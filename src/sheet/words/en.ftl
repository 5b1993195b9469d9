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
label-ruled-out = What would rule it out
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
label-band = The pale band about a mark shows where the true value lies. The numbers below a wobble line are the wheel's fasteners.
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
drive-unknown = We cannot say. Nothing was inspected, so nothing can be said about these brakes.
drive-later = Yes. Plan the points under “{ $later }”.
drive-good = Yes. Everything we inspected holds.

## The four groups
group-now = Before it moves
group-later = Before a distance or a date
group-holds = Holds
group-unseen = Not seen
group-put-right = Put right in this visit; this is how we found it
group-now-none = Nothing.
group-later-none = Nothing.
group-none-unknown = Not known. Nothing was inspected.
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
leave-stop = Left as it is, the vehicle must not be driven.
leave-fail = Left as it is, it stays outside its limit from the first kilometre. It should not be handed over so.
leave-km = Left as it is, it may reach its limit at { $at }. That is { $left } from now.
leave-unknown = Left as it is, no distance can be said. We look again at the next service, { $left } from now.
decided = { $outcome ->
    [yes] Yes, on { $time }, { $means }.
    [no] No, on { $time }, { $means }.
   *[later] Later, on { $time }, { $means }.
}
decided-ask = Ask again on { $date }.
decided-caution = We said that it is outside its limit and advised against driving it.
means-telephone = by telephone
means-in_person = in person
means-message = by message
means-email = by e-mail
means-pre_authorised = within what was agreed before
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
event-passed = { $place }, { $item }, { $phase }: one value left out
event-second = { $place }, { $item }, { $phase }: a second person read { $text }
event-personal = Data of the customer noted, here as a digest only
event-quote = { $count ->
    [one] First quote written down, one line
   *[other] First quote written down, { $count } lines
}
event-quote-add = Quote: “{ $text }” added
event-quote-drop = Quote: “{ $text }” taken off
event-quote-set = Quote: “{ $text }” now at { $price }
event-contact = Customer spoken to, { $means }
event-contact-words = Customer spoken to, { $means }: “{ $text }”
event-contact-missed = Customer not reached, { $means }
event-point = { $place }: { $point }
event-point-not = { $place }, not done: { $point } “{ $reason }”
event-wrench = { $place }: { $instrument } gave { $text }
event-retorque = Wheel fasteners checked again at { $km } with { $instrument }
point-prepared = hub, wheel and seats clean, fasteners started by hand
point-second_person = final torque checked by a second person
point-road_test = road test driven
point-bedding_in = new parts bedded in
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

## Likely causes, for the workshop: matched with what the judgement says
phrase-at = { $a }, at { $b }
phrase-brakes-less-than = { $a } brakes { $b } % less than { $c }
phrase-the-axle-forces-differ = the { $a } axle's forces differ by { $b } % only
phrase-the-inner-pad-at = the inner pad at { $a } is much thinner than the outer: { $b } against { $c }
phrase-the-disc-at-is = the disc at { $a } is { $b } mm thinner than its mate
phrase-slide-pins-seized = slide pins seized
phrase-push-the-calliper-by = push the calliper by hand both ways, pull both pins: free play, grease, wear
phrase-both-pins-move-freely = both pins move freely and are greased
phrase-slide-pins-found-free = slide pins found free
phrase-that-alone-explains-it = { $a }: that alone explains it
phrase-piston-not-retracting = piston not retracting
phrase-press-the-piston-back = press the piston back with the bleed nipple closed, then open: easy only when open means the hose, not the piston
phrase-the-piston-goes-back = the piston goes back smoothly with the nipple closed
phrase-piston-found-free = piston found free
phrase-the-outer-pad-at = the outer pad at { $a } is much thinner than the inner: { $b } against { $c }
phrase-outer-pad-hung-in = outer pad hung in the carrier, or a slide pin partly seized
phrase-take-the-outer-pad = take the outer pad out by hand; clean the abutments, check the clips
phrase-the-outer-pad-slides = the outer pad slides freely in the carrier
phrase-clips-and-springs-found = clips and springs found sound
phrase-worn-carrier-one-slide = worn carrier, one slide pin seized, or a wrong pad
phrase-compare-both-pins-wear = compare both pins' wear, look at the clip's seat and the pad's back plate
phrase-both-pins-are-alike = both pins are alike and the pad sits square
phrase-a-pad-at-is = a pad at { $a } is { $b } thinner at its { $c } end
phrase-leading = leading
phrase-trailing = trailing
phrase-the-piston-at-is = the piston at { $a } is not free
phrase-brake-dragging-piston-sticking = brake dragging: piston sticking, hose collapsed inside, or parking brake not releasing
phrase-spin-the-wheel-after = spin the wheel after releasing the brake, open the bleed nipple and spin again; compare the discs' temperatures
phrase-the-wheel-runs-free = the wheel runs free at once after the brake is released
phrase-both-pads-at-are = both pads at { $a } are at least { $b } thinner than at { $c }
phrase-that-side-may-do = { $a }: that side may do too little instead
phrase-the-disc-at-was = the disc at { $a } was { $b } °C, at { $c } { $d } °C
phrase-this-wheel-does-too = this wheel does too little: piston seized, air, a blocked hose, or contaminated pads
phrase-bleed-this-calliper-and = bleed this calliper and compare the flow of both sides, then measure the forces again
phrase-the-forces-are-alike = the forces are alike after bleeding
phrase-both-pads-at-are-at = both pads at { $a } are at least { $b } thicker than at { $c }
phrase-pad-wear-sensor-wire = pad-wear sensor's wire chafed, or its connector wet
phrase-measure-the-loop-continuity = measure the loop's continuity, unplug and look into the connector
phrase-the-loop-is-whole = the loop is whole and the connector dry
phrase-the-pads-at-still = the pads at { $a } still have { $b } mm
phrase-pad-wear-sensor-found = pad-wear sensor found sound, no lamp
phrase-pad-wear-sensor-broken = pad-wear sensor broken or bridged, or it watches another pad
phrase-trace-which-pad-carries = trace which pad carries the sensor, then measure its continuity
phrase-the-sensor-sits-on = the sensor sits on a pad that is still thick
phrase-the-pads-at-are = the pads at { $a } are down to { $b } mm
phrase-squeal-is-complained-of = squeal is complained of
phrase-glazed-pads-dry-abutments = glazed pads, dry abutments: light use, or heat from a drag
phrase-clean-and-grease-the = clean and grease the abutments, bed the pads in, listen again
phrase-the-noise-stays-after = the noise stays after cleaning and bedding in
phrase-calliper-seal-hose-union = calliper seal, hose union or hub grease leaking onto the pads
phrase-clean-press-the-pedal = clean, press the pedal, find where it is wet under pressure; renew the axle's pads after the repair
phrase-nothing-gets-wet-under = nothing gets wet under pressure
phrase-calliper-found-dry = calliper found dry
phrase-rust-behind-the-friction = rust behind the friction material, or its bond failing
phrase-photograph-the-pad-edge = photograph the pad's edge, look at the other three
phrase-the-plate-is-clean = the plate is clean and the edge whole
phrase-pad-worn-to-its = pad worn to its plate
phrase-take-the-pads-out = take the pads out and look at both plates and the disc's face
phrase-friction-material-stands-over = friction material stands over the whole plate
phrase-grinding-is-complained-of = grinding is complained of
phrase-something-began-to-drag = something began to drag since the last visit, or the vehicle's use changed
phrase-drag-test-spin-the = drag test: spin the wheel after releasing the brake; ask about the driver and towing
phrase-the-wheel-runs-free-and = the wheel runs free and the use did change
phrase-the-pads-at-wear = the pads at { $a } wear more than 1.5 times as fast as before
phrase-normal-for-a-leading = normal for a leading shoe; if the other hardly wears, the wheel cylinder may be seized on its side
phrase-watch-both-ends-of = watch both ends of the cylinder move while the pedal is pressed lightly
phrase-both-pistons-of-the = both pistons of the cylinder move
phrase-leading-lining-against-trailing = leading lining { $a } against trailing { $b }, at { $c }
phrase-inner-pad-hanging-or = inner pad hanging, or water and grit behind the disc
phrase-look-at-pins-dust = look at pins, dust shield and the pad's movement
phrase-both-pads-move-freely = both pads move freely and the shield is whole
phrase-normal-wear-the-disc = normal wear, the disc renewed late
phrase-measure-inside-the-lip = measure inside the lip
phrase-the-thickness-inside-the = the thickness inside the lip is far from the limit
phrase-pad-not-covering-the = pad not covering the face: light use, a hung pad, or a rear axle that does little
phrase-is-the-pad-free = is the pad free? brake it clean on the road, measure the forces
phrase-the-band-is-gone = the band is gone after a few firm stops
phrase-grit-between-pad-and = grit between pad and disc, or a pad worn to its plate
phrase-measure-the-groove-depth = measure the groove's depth, look at the pads' faces
phrase-the-grooves-are-shallower = the grooves are shallower than the policy's figure
phrase-thermal-fatigue = thermal fatigue
phrase-photograph-and-measure-the = photograph and measure the crack; renew the discs of the axle
phrase-the-line-is-a = the line is a scratch that ends on the face
phrase-normal-heat-checking-while = normal heat checking while it is shallow
phrase-look-again-at-the = look again at the next service, whether a line reaches an edge
phrase-a-line-reaches-the = a line reaches the edge or goes through: then it is a crack
phrase-judder-is-complained-of = judder is complained of
phrase-run-out-has-been = run-out has been wearing the disc to uneven thickness
phrase-separate-hub-and-disc = separate hub and disc by turning the disc on the hub; re-clock it, or renew it
phrase-the-thin-spot-is = the thin spot is nowhere near the high spot of the run-out
phrase-thickness-varies-by-m = thickness varies by { $a } µm at { $b } and the run-out is { $c }
phrase-most-of-the-thickness = most of the thickness variation comes once a turn ({ $a } µm against { $b } µm twice)
phrase-pad-deposits-or-a = pad deposits, or a patch of corrosion from standing
phrase-clean-the-face-as = clean the face as the disc's maker allows, bed in, measure again
phrase-the-variation-is-the = the variation is the same after cleaning
phrase-thickness-varies-by-m-at = thickness varies by { $a } µm at { $b } though the run-out is only { $c }
phrase-early-stage-the-run = early stage: the run-out has not worn the disc yet, judder is to be expected
phrase-correct-the-run-out = correct the run-out now: clean the hub face, turn the disc on the hub
phrase-the-run-out-is = the run-out is inside its limit after cleaning
phrase-run-out-of-at = run-out of { $a } at { $b } with an even thickness and no complaint
phrase-turning-the-disc-at = turning the disc at { $a } separates { $b } that stay with the hub and { $c } that follow the disc
phrase-the-hub-dirt-or = the hub: dirt or rust on its face, a bent hub, or its bearing
phrase-clean-the-hub-face = clean the hub face, measure the flange directly, feel the bearing
phrase-the-disc-own-tilt = the disc's own tilt
phrase-measure-the-disc-on = measure the disc on the bench; turn it on the hub, skim it or renew it
phrase-hub-and-disc-together = hub and disc together: their tilts add up in this position
phrase-measure-in-another-clocking = measure in another clocking
phrase-turn-the-disc-on = turn the disc on by { $a } holes: { $b } are predicted there
phrase-the-run-out-does = the run-out does not change as predicted when the disc is turned
phrase-the-ring-in-clocking = the ring in clocking { $a } is { $b } from its prediction
phrase-it-agrees = { $a }: it agrees
phrase-a-dirt-flake-a = a dirt flake, a wrong mark, or numbers that run backwards
phrase-clean-both-faces-make = clean both faces, make sure of stud 1 and the disc's mark, measure the ring again
phrase-the-repeated-ring-still = the repeated ring still disagrees
phrase-in-clocking-the-run = in clocking { $a } the run-out is { $b } from its prediction, { $c } times its uncertainty
phrase-dirt-or-rust-between = dirt or rust between hub and disc made a part of it
phrase-clean-both-faces-bright = clean both faces bright at every refit, measure before the wheel goes on
phrase-the-run-out-is-back = the run-out is back at its first value though the faces are clean
phrase-in-the-same-position = in the same position the run-out at { $a } fell from { $b } to { $c } when it was measured again
phrase-run-out-of-at-alone = run-out of { $a } at { $b }
phrase-the-hub-face-was = the hub face was not cleaned before
phrase-clean-it-bright-and = clean it bright and take the run-out again in the same position
phrase-the-run-out-is-the = the run-out is the same on a clean face
phrase-uneven-clamping-fasteners-unlike = uneven clamping: fasteners unlike tight, burrs at the holes, a spacer missing
phrase-slacken-tighten-in-stages = slacken, tighten in stages in star order, measure again
phrase-the-alternation-stays-after = the alternation stays after even clamping
phrase-of-the-run-out = { $a } of the run-out at { $b } alternate between studs and the places between
phrase-disc-distorted-by-heat = disc distorted by heat to a saddle
phrase-look-for-blue-spots = look for blue spots, then renew the discs of the axle
phrase-it-is-gone-after = it is gone after clamping the disc evenly on a clean face
phrase-of-the-run-out-at = { $a } of the run-out at { $b } come twice a turn
phrase-dirty-hub-face-oil = dirty hub face, oil film, uneven torque, or a disc not seated
phrase-clean-both-faces-clamp = clean both faces, clamp in stages, measure again; then turn it on the hub
phrase-a-second-new-disc = a second new disc shows the same
phrase-the-disc-at-is-new = the disc at { $a } is new and: { $b }
phrase-judder-when-hot-hot = judder when hot: hot spots or heat crazing
phrase-look-for-blue-spots-measure = look for blue spots, measure the thickness variation with the disc warm
phrase-the-judder-is-the = the judder is the same with cold brakes
phrase-overheated-the-brake-drags = overheated: the brake drags, or was used hard
phrase-drag-test-spin-the-wheel = drag test: spin the wheel after releasing the brake
phrase-the-wheel-runs-free-and-the = the wheel runs free and the use explains it
phrase-corrosion-in-the-wheel = corrosion in the wheel-speed sensor's connector
phrase-clean-and-dry-the = clean and dry the connector, measure resistance or signal
phrase-the-fault-stays-with = the fault stays with a clean, dry connector
phrase-wheel-speed-sensor-wire = wheel-speed sensor's wire rubbing on a moving part
phrase-move-the-steering-and = move the steering and suspension through their travel and watch the wire
phrase-the-wire-touches-nothing = the wire touches nothing in any position
phrase-corrosion-between-the-wheel = corrosion between the wheel and the hub
phrase-clean-and-treat-both = clean and treat both faces, never the threads; check the torque again after the first distance
phrase-the-faces-are-clean = the faces are clean and the wheel still sticks
phrase-mixed-parts-or-a = mixed parts, or a wrong seat
phrase-match-thread-length-and = match thread, length and seat of every fastener, renew what differs
phrase-all-fasteners-carry-the = all fasteners carry the same marking and seat
phrase-wheel-not-tightened-in = wheel not tightened in stages, paint or rust under the seat, or stretched studs
phrase-check-every-fastener-of = check every fastener of all wheels, look at studs, seats and holes for polish and red dust
phrase-seats-holes-and-studs = seats, holes and studs are clean and whole
phrase-recent-work = recent work
phrase-ask-for-the-history = ask for the history, check the torque of what was undone
phrase-the-history-explains-the = the history explains the marks and the torque is right
phrase-bolt-loosened-wrong-or = bolt loosened: wrong or no locking, or a single-use bolt used again
phrase-do-not-drive-check = do not drive: check threads, renew and torque as the maker says
phrase-the-bolt-holds-its = the bolt holds its torque and the mark was never renewed
phrase-calliper-seal-hose-union-or = calliper seal, hose union, or hub grease
phrase-clean-hold-the-pedal = clean, hold the pedal down, find where it gets wet
phrase-everything-stays-dry-under = everything stays dry under pressure
phrase-wheel-cylinder-weeping = wheel cylinder weeping
phrase-peel-the-boot-back = peel the boot back and look; renew both cylinders of the axle
phrase-it-is-dry-under = it is dry under the boot
phrase-the-hose-reinforcement-is = the hose's reinforcement is broken
phrase-have-the-pedal-pressed = have the pedal pressed and watch the hose; renew the pair
phrase-it-does-not-grow = it does not grow under pressure
phrase-the-hose-may-act = the hose may act as a valve: it lets pressure in and not out
phrase-brake-release-spin-the = brake, release, spin the wheel; open the nipple and spin again
phrase-the-wheel-runs-free-at = the wheel runs free at once after the release
phrase-pads-knock-or-hang = pads knock or hang: anti-rattle spring missing or weak, or a loose carrier bolt
phrase-fit-the-spring-check = fit the spring, check the carrier bolts' torque, listen again
phrase-the-noise-stays-with = the noise stays with new springs and tight bolts
phrase-a-warning-lamp-is = a warning lamp is complained of
phrase-torque-lost-paint-rust = torque lost: paint, rust or treatment under the seat, or a stretched stud
phrase-clean-the-seats-renew = clean the seats, renew the fasteners that turn, check again after the first distance
phrase-no-fastener-turns-at = no fastener turns at the next check
phrase-fastener-at-turned-when = fastener { $a } at { $b } turned { $c }° when it was checked again
phrase-drum-oval-or-bell = drum oval or bell-mouthed: overheated, or the parking brake set while hot
phrase-turn-it-down-within = turn it down within the maker's maximum, or renew the pair
phrase-the-drum-is-round = the drum is round when it is measured clean and cold
phrase-ovality-mm-bell-mouth = ovality { $a } mm, bell-mouth { $b } mm, at { $c }
phrase-air-a-blocked-hose = air, a blocked hose, a seized piston, or contaminated pads on the weak side
phrase-bleed-both-sides-and = bleed both sides and compare the flow; test hose, piston and pads of the weak side
phrase-brakes-less-and-the = { $a } brakes { $b } % less, and the pads of the axle are alike
phrase-parking-brake-a-cable = parking brake: a cable seized, its motor weak, or shoes out of adjustment on one side
phrase-compare-lever-force-and = compare lever force and travel of both sides, watch the cable move
phrase-both-sides-move-alike = both sides move alike
phrase-the-parking-brake-holds = the parking brake holds { $a } % less at { $b }
phrase-stability-control-at-work = stability control at work, or a parking brake that drags
phrase-release-the-parking-brake = release the parking brake, spin both rear wheels, count its cycles if it is electric
phrase-both-rear-wheels-run = both rear wheels run free
phrase-the-thinnest-rear-pad = the thinnest rear pad has { $a }, the thinnest front pad { $b }
phrase-at-one-pad-alone = at { $a } one pad alone is thin: look there first
phrase-normal-wear = normal wear
phrase-compare-the-rate-with = compare the rate with the vehicle's own history
phrase-the-rate-rose-since = the rate rose since the last visit
phrase-every-pad-has-between = every pad has between { $a } and { $b }
phrase-the-fluid-boils-at = the fluid boils at { $a } °C
phrase-the-fluid-boils-at-c = the fluid boils at { $a } °C, well above its limit
phrase-moisture-in-the-fluid = moisture in the fluid, or air in the system
phrase-boiling-test-at-a = boiling test at a calliper's nipple, then change the fluid and bleed
phrase-the-pedal-is-soft = the pedal is soft with new, bled fluid
phrase-a-soft-pedal-is = a soft pedal is complained of
phrase-pads-knocked-back-by = pads knocked back by a loose bearing or by run-out
phrase-does-a-second-stroke = does a second stroke firm the pedal up? measure the bearing's end float
phrase-the-pedal-is-the = the pedal is the same on the second stroke
phrase-a-soft-or-long = a soft or long pedal is complained of
phrase-uneven-brake-forces-hose = uneven brake forces: hose, piston, or contaminated pads on the weak side; else a tyre
phrase-roller-test-then-swap = roller test, then swap the front tyres and try again
phrase-the-forces-are-alike-and = the forces are alike and the pull changes sides with the tyres
phrase-a-pull-is-complained = a pull is complained of
phrase-not-the-brakes-wheel = not the brakes: wheel balance, a bush, steering play, or the drive line
phrase-does-it-shake-without = does it shake without braking? balance the wheels, look at the suspension
phrase-it-shakes-only-while = it shakes only while braking
phrase-run-out-and-thickness = run-out and thickness variation are good at every wheel
phrase-no-reason-is-given = no reason is given
phrase-stays-what-it-is = { $a } stays what it is until it is inspected and has a limit; only FAIL can be set
phrase-it-is-already = it is { $a } already
phrase-it-cannot-be-made = it cannot be made less severe: { $a }
phrase-these-readings-can-never = these readings can never give a PASS
phrase-a-less-severe-verdict = a less severe verdict needs a second person, other than { $a }
phrase-it-is-beyond-the = it is beyond the limit of { $a }
phrase-a-vehicle-that-must = a vehicle that must not be driven is never called better
phrase-the-is-still-seized = the { $a } is still seized
phrase-makes-it-a-failure = { $a } makes it a failure
phrase-slide-pin = slide pin
phrase-piston = piston
phrase-front = front
phrase-rear = rear
phrase-at-the-inner-face = at { $a } the inner face has lost { $b } mm and the outer { $c } mm
