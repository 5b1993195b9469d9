# Die Worte für Kunden auf Deutsch. Kurze Sätze, ein Gedanke je Satz; eine Zahl mit ihrer Bedeutung.

## Titel
title-sheet = Bremsenbefund, Auftrag { $job }
title-worksheet = Arbeitsblatt, Auftrag { $job }
title-tag = Radbefestigung prüfen, Auftrag { $job }

## Beschriftungen
label-customer = Kundin oder Kunde
label-vehicle = Fahrzeug
label-registration = Kennzeichen
label-vin = Fahrgestellnummer
label-odometer = Kilometerstand
label-date = Datum
label-depth = Umfang
label-people = Gemessen von
label-complaint = Ihre Worte
label-drive = Darf es fahren?
label-distance = Wie weit jedes Teil noch reicht
label-corner = Jedes Rad
label-vehicle-block = Ganzes Fahrzeug
label-item = Teil
label-reading = Messwert
label-limit = Grenze
label-whose = Wessen Grenze
label-verdict = Urteil
label-looked = Angesehen und in Ordnung
label-notes = Anmerkungen
label-photos = Fotos
label-quote = Das Angebot
label-quote-given = Wie angeboten
label-choice = Zwei bitte streichen
label-do-it = machen
label-leave-it = lassen
label-ask-me = fragen am
label-price = Preis
label-if-not = Wenn es unterbleibt
label-decided = Entschieden
label-signature-line = Unterschrift
label-retorque = Radbefestigung: noch einmal prüfen
label-cut = hier abtrennen
label-signature = Unterschrift des Protokolls
label-check = So wird sie geprüft
label-digest = SHA-256 des Protokolls
label-key = Schlüssel
label-signer = Unterschrieben von
label-signed-at = Unterschrieben am
label-revision = Fassung
label-cautions = Bitte beachten
label-edition-workshop = Ausgabe für die Werkstatt
label-technical = Messwerte und Unsicherheit
label-readings = Ablesungen wie eingegeben
label-causes = Wahrscheinliche Ursachen
label-cause = Ursache
label-for = Dafür spricht
label-against = Dagegen spricht
label-next-test = Nächste Prüfung
label-ruled-out = Was sie ausschließt
label-overrides = Beantwortete Rückfragen, gestrichene Einträge
label-timeline = Was geschah, der Reihe nach
label-time = Zeit
label-person = Wer
label-event = Was
label-uncertainty = u
label-probability = p
label-proof = Nachweis
label-instrument = Messmittel
label-phase = Zustand
label-new = Neu
label-order = Reihenfolge beim Anziehen
label-positions = Wo gemessen wird
label-write = Hier eintragen
label-torque = Drehmoment
label-done = Erledigt
label-replaced = Zeichen, die diesen Schriften fehlen, stehen als { "\u25A1" }:
label-found = vorgefunden
label-left = hinterlassen
label-worksheet-hint = Später eingeben mit
label-name = Name
label-band = Das helle Band um eine Marke zeigt, wo der wahre Wert liegt. Die Zahlen unter einer Schlaglinie sind die Befestigungen des Rades.
label-page = Seite

## Wo
place-front-left = Vorn links
place-front-right = Vorn rechts
place-rear-left = Hinten links
place-rear-right = Hinten rechts
place-axle-left = Achse { $number } links
place-axle-right = Achse { $number } rechts
place-front-nearside = Vorn Bordsteinseite
place-front-offside = Vorn Fahrbahnseite
place-rear-nearside = Hinten Bordsteinseite
place-rear-offside = Hinten Fahrbahnseite
place-axle-nearside = Achse { $number } Bordsteinseite
place-axle-offside = Achse { $number } Fahrbahnseite
place-axle-front = Vorderachse
place-axle-rear = Hinterachse
place-axle = Achse { $number }
place-vehicle = Fahrzeug

## Was
item-wheel-seat = Sitz des Rades auf der Nabe
item-wheel-fasteners = Radbefestigung
item-hose = Bremsschlauch
item-pipe = Bremsleitung
item-sensor-speed = Raddrehzahlsensor
item-sensor-wear = Verschleißsensor
item-calliper-leak = Dichtheit des Sattels
item-slide_pins = Führungsbolzen des Sattels
item-piston = Kolben des Sattels
item-springs = Federn und Klammern
item-bolts-witness = Schrauben des Sattels
item-pads-condition = Zustand der Beläge
item-pads-thickness = Belagdicke
item-pads-inner_outer = innerer und äußerer Belag
item-disc-surface = Fläche der Scheibe
item-bearing-float = Spiel des Radlagers
item-disc-runout = Schlag der Scheibe
item-disc-thickness = Dicke der Scheibe
item-disc-variation = Dickenunterschied der Scheibe
item-hub-face = Fläche der Nabe
item-drum-diameter = Durchmesser der Trommel
item-linings-thickness = Dicke der Bremsbacken
item-cylinder-leak = Dichtheit des Radzylinders
item-torque-calliper = Befestigung des Sattels
item-torque-wheel = Radbefestigung angezogen
item-axle-disc_difference = linke und rechte Scheibe
item-axle-pad_difference = linke und rechte Beläge
item-axle-imbalance = Bremskraft links und rechts
item-fluid-boiling = Siedepunkt der Bremsflüssigkeit
item-fluid-level = Stand der Bremsflüssigkeit
item-brake-service_efficiency = Betriebsbremse
item-brake-parking_efficiency = Feststellbremse
item-pedal-firm = Bremspedal

## Urteile
verdict-pass = hält
verdict-advise = beobachten
verdict-fail = außerhalb der Grenze
verdict-not-inspected = nicht gesehen
verdict-no-limit = keine Grenze bekannt
verdict-incomplete = nicht alles gesehen
proof-proven_in = sicher innerhalb
proof-not_proven = nicht sicher
proof-proven_out = sicher außerhalb
proof-looked = angesehen
phase-as_found = vorgefunden
phase-as_left = hinterlassen
customer-deleted = der Name wurde auf Wunsch gelöscht
customer-differs = der abgelegte Name ist nicht der eingetragene
depth-quick = kurz: wenige Punkte je Scheibe
depth-full = voll: alle Punkte jeder Scheibe

## Darf es fahren
drive-stop = Nein. Bitte nicht fahren, bevor die Punkte unter „{ $now }“ behoben sind.
drive-fail = Noch nicht. Zuerst sind die Punkte unter „{ $now }“ zu beheben.
drive-open = Nichts Gesehenes spricht dagegen. Alles konnten wir nicht sehen: siehe „{ $unseen }“.
drive-unknown = Das wissen wir nicht. Nichts wurde geprüft, daher lässt sich über diese Bremsen nichts sagen.
drive-later = Ja. Bitte die Punkte unter „{ $later }“ einplanen.
drive-good = Ja. Alles, was wir geprüft haben, hält.

## Die vier Gruppen
group-now = Bevor es sich bewegt
group-later = Vor einer Strecke oder einem Tag
group-holds = Hält
group-unseen = Nicht gesehen
group-put-right = Bei diesem Besuch behoben; so haben wir es vorgefunden
group-now-none = Nichts.
group-later-none = Nichts.
group-none-unknown = Nicht bekannt. Nichts wurde geprüft.
group-holds-none = Noch steht nicht fest, dass etwas hält.
group-unseen-none = Nichts wurde ausgelassen.
until-stop = Nicht fahren.
until-handover = Bevor Sie es zurücknehmen.
until-km = Vor dem Stand { $km }.
until-date = Vor dem { $date }.
until-km-date = Vor dem Stand { $km } oder dem { $date }, je nachdem, was zuerst kommt.
until-watch = Eine Strecke ist nicht bekannt. Bitte beim nächsten Service wieder ansehen lassen.

## Was gemessen wurde
measured = Gemessen haben wir { $value }.
measured-difference = Der Unterschied ist { $value }.
measured-forces = Die beiden Räder unterscheiden sich um { $value }.
measured-efficiency = Sie erreicht { $value } des Fahrzeuggewichts.
measured-boiling = Sie siedet bei { $value }.
limit-least = { $whose ->
    [maker] Der Hersteller erlaubt nicht weniger als { $limit }.
    [mark] Die Marke auf dem Teil erlaubt nicht weniger als { $limit }.
    [rule] Die Vorschrift erlaubt nicht weniger als { $limit }.
   *[policy] Unser eigener Wert ist nicht weniger als { $limit }. Der Hersteller nennt keinen.
}
limit-most = { $whose ->
    [maker] Der Hersteller erlaubt nicht mehr als { $limit }.
    [mark] Die Marke auf dem Teil erlaubt nicht mehr als { $limit }.
    [rule] Die Vorschrift erlaubt nicht mehr als { $limit }.
   *[policy] Unser eigener Wert ist nicht mehr als { $limit }. Der Hersteller nennt keinen.
}
whose-maker = Hersteller
whose-mark = Marke auf dem Teil
whose-rule = Vorschrift: { $source }
whose-rule-unconfirmed = Vorschrift: { $source } (unbestätigt)
whose-policy = unser eigener Wert; der Hersteller nennt keinen
new-is = Neu sind es { $value }.
at-least = mindestens { $limit }
at-most = höchstens { $limit }
chart-gauge = { $title }: { $value } zwischen der Grenze { $limit } und neu { $new }.
chart-gauge-no-new = { $title }: { $value }, Grenze { $limit }.
chart-runout = { $title } über eine Umdrehung: { $value } insgesamt, Grenze { $limit }.
chart-runout-no-limit = { $title } über eine Umdrehung: { $value } insgesamt.
chart-distance = Eine Linie ab { $today }, mit jedem Verschleißteil an seiner frühesten Strecke.
chart-today = heute
chart-service = nächster Service
chart-star = Reihenfolge beim Anziehen: { $order }.
chart-ring = Messpunkte 1 bis { $points }, in Drehrichtung ab Bolzen 1.
chart-qr = QR-Code aus Auftragsnummer, Fassung und Prüfsumme.

## Warum
why-beyond = Das liegt hinter der Grenze.
why-half = Weniger als die Hälfte des Mindestmaßes des Herstellers ist übrig.
why-at-limit = Das liegt genau auf der Grenze.
why-unproven = Das liegt so nah an der Grenze, dass unser Messmittel es nicht belegt.
why-again = Vor jedem Teiletausch sollte noch einmal gemessen werden.
why-little-left = Bis zur Grenze bleiben { $left }.
why-plan = Ab { $plan } planen wir einen Wechsel.
why-forecast = Die Grenze kann frühestens nach { $km } erreicht sein.
why-shakes = Sie haben uns ein Zittern gemeldet. Das kann die Ursache sein.
why-near = Das liegt nah an der Grenze.
why-fluid-old = Sie hat Wasser aufgenommen. Frische Flüssigkeit siedet bei { $dry } oder mehr.
why-gauge = Unser Messmittel war dafür nicht in Ordnung. Erst eine neue Messung belegt etwas.
why-mark = Die Marke auf dem Teil und das Datenblatt weichen ab. Wir nehmen die strengere.
why-floor = Der Unterschied ist kleiner, als unser Messmittel zeigen kann.
why-side-left = Die linke Seite ist dünner.
why-side-right = Die rechte Seite ist dünner.
why-inner = Der innere Belag ist dünner.
why-outer = Der äußere Belag ist dünner.
why-more-than = Mehr als { $limit } ist ein Grund, weiter zu suchen.
why-override = Jemand hat dieses Urteil von Hand gesetzt. Der angegebene Grund: „{ $reason }“
why-not-counted = Die Kraft war zu klein, um sie zu beurteilen.
note-given = Anmerkung aus der Werkstatt: „{ $note }“

## Was daraus folgt
risk-disc-thickness = Eine dünne Scheibe wird schneller heiß und kann reißen.
risk-disc-variation = Das Pedal kann pulsieren, und das kann zunehmen.
risk-disc-runout = Das Rad kann beim Bremsen zu zittern beginnen.
risk-pads-thickness = Ist der Belag verbraucht, reibt Metall auf der Scheibe.
risk-pads-inner_outer = Ein Belag leistet mehr als der andere. Etwas kann klemmen.
risk-linings-thickness = Ist die Backe verbraucht, reibt Metall auf der Trommel.
risk-drum-diameter = Die Backen haben einen weiteren Weg, und die Trommel wird schwach.
risk-bearing-float = Das Rad kann wackeln, und das Lager kann schnell verschleißen.
risk-axle-imbalance = Das Fahrzeug kann beim Bremsen zur Seite ziehen.
risk-axle-pad_difference = Eine Seite leistet mehr als die andere.
risk-axle-disc_difference = Eine Seite leistet mehr als die andere.
risk-fluid-boiling = An einem langen Gefälle kann sie sieden, und das Pedal kann weich werden.
risk-brake-service_efficiency = Der Weg bis zum Stillstand ist länger.
risk-brake-parking_efficiency = Am steilen Hang hält sie vielleicht nicht.

## Was nicht gesehen wurde
unseen-told = Es konnte nicht geprüft werden. Der angegebene Grund: „{ $reason }“
unseen-nothing = Es stand auf der Liste, und nichts wurde eingetragen.
unseen-new-part = Ein neues Teil ist eingebaut und noch nicht gemessen.
unseen-float = Das Radlager hat zu viel Spiel. Damit gilt diese Messung nicht.
unseen-unusable = Die Messwerte sind nicht brauchbar. Sie müssen neu genommen werden.
unseen-clicks = { $done ->
    [one] Eine von { $all } Befestigungen ist mit ihrem Drehmoment bestätigt.
   *[other] { $done } von { $all } Befestigungen sind mit ihrem Drehmoment bestätigt.
}
unseen-second-pass = Die zweite Runde mit vollem Drehmoment ist nicht bestätigt.
unseen-pedal = Das Pedal wurde noch nicht gepumpt und gefühlt.
unseen-no-limit = Niemandes Grenze dafür ist bekannt.
pedal-soft = Das Pedal ist nicht fest.
defect-unknown = Ein Mangel mit dem Kennwort „{ $code }“ wurde eingetragen.

## Mängel
defect-wheel-seat-partly = Das Rad sitzt teilweise auf der Nabe fest.
defect-wheel-seat-hard = Das Rad sitzt auf der Nabe ganz fest.
defect-wheel-seat-worn = Der Sitz des Rades ist verschlissen oder verrostet.
defect-wheel-fasteners-loose = Eine Radbefestigung war lose.
defect-wheel-fasteners-missing = Eine Radbefestigung fehlt.
defect-wheel-fasteners-thread = Das Gewinde einer Radbefestigung ist beschädigt.
defect-wheel-fasteners-differs = Eine Radbefestigung ist anders als die übrigen.
defect-wheel-fasteners-rust = Eine Radbefestigung ist verrostet.
defect-hose-leak = Der Schlauch ist undicht.
defect-hose-bulge = Der Schlauch hat eine Beule.
defect-hose-cords = Der Schlauch ist bis auf sein Gewebe abgenutzt.
defect-hose-twisted = Der Schlauch ist verdreht oder geknickt.
defect-hose-cracks = Der Schlauch hat Risse an der Oberfläche.
defect-hose-chafe = Der Schlauch ist angescheuert; das Gewebe ist nicht zu sehen.
defect-hose-bracket = Eine Klammer oder ein Halter des Schlauches ist lose.
defect-pipe-leak = Die Leitung oder eine Verschraubung ist undicht.
defect-pipe-deep = Mehr als ein Drittel der Wand der Leitung ist weg.
defect-pipe-rust = Die Leitung ist an der Oberfläche verrostet.
defect-pipe-support = Eine Klammer der Leitung fehlt.
defect-sensor-speed-cut = Das Kabel des Sensors ist durchtrennt oder hat Kurzschluss.
defect-sensor-speed-fault = Die Lampe bestätigt einen Fehler des Sensors.
defect-sensor-speed-damp = Der Stecker des Sensors ist feucht oder verrostet.
defect-sensor-speed-chafe = Das Kabel des Sensors ist angescheuert.
defect-sensor-speed-clip = Eine Klammer des Sensors ist lose.
defect-sensor-wear-cut = Das Kabel des Verschleißsensors ist durchtrennt oder hat Kurzschluss.
defect-sensor-wear-lamp = Die Lampe für den Belagverschleiß leuchtet.
defect-sensor-wear-damp = Der Stecker des Verschleißsensors ist feucht oder verrostet.
defect-sensor-wear-chafe = Das Kabel des Verschleißsensors ist angescheuert.
defect-sensor-wear-clip = Eine Klammer des Verschleißsensors ist lose.
defect-calliper-leak-leak = Am Sattel tritt Bremsflüssigkeit aus.
defect-calliper-leak-damp = Der Sattel ist feucht. Woher, ist nicht klar.
defect-cylinder-leak-leak = Am Radzylinder tritt Bremsflüssigkeit aus.
defect-cylinder-leak-damp = Der Radzylinder ist feucht. Woher, ist nicht klar.
defect-slide_pins-seized = Ein Führungsbolzen sitzt fest.
defect-slide_pins-stiff = Ein Führungsbolzen ist schwergängig.
defect-slide_pins-dry = Ein Führungsbolzen ist trocken.
defect-slide_pins-boot = Die Manschette eines Führungsbolzens ist gerissen.
defect-piston-seized = Der Kolben sitzt fest.
defect-piston-stiff = Der Kolben ist schwergängig.
defect-piston-boot = Die Manschette des Kolbens ist gerissen.
defect-springs-missing = Eine Feder oder Klammer fehlt, wo ein Belag klemmen kann.
defect-springs-weak = Eine Feder oder Klammer ist schwach.
defect-springs-jacked = Eine Klammer ist durch Rost angehoben.
defect-bolts-witness-loose = Eine Schraube an Sattel oder Aufhängung ist lose.
defect-bolts-witness-fresh = Eine Schraube zeigt frische Spuren einer Arbeit.
defect-bolts-witness-broken = Eine Farbmarke an einer Schraube ist gebrochen.
defect-pads-condition-metal = Ein Belag ist durch: Metall läuft auf Metall.
defect-pads-condition-lifting = Der Belag löst sich von seiner Trägerplatte.
defect-pads-condition-soaked = Ein Belag ist mit Flüssigkeit oder Fett getränkt.
defect-pads-condition-cracked = Ein Belag ist durchgerissen.
defect-pads-condition-wrong = Ein falscher Belag ist eingebaut.
defect-pads-condition-stuck = Ein Belag ist in seinem Träger nicht frei.
defect-pads-condition-glazed = Ein Belag hat eine glasige Oberfläche.
defect-pads-condition-chips = Ein Belag ist am Rand ausgebrochen.
defect-disc-surface-crack = Die Scheibe ist gerissen.
defect-disc-surface-scored_deep = Die Scheibe hat Riefen, tiefer als 1,5 mm.
defect-disc-surface-rusted = Der größte Teil einer Scheibenfläche ist verrostet.
defect-disc-surface-crazing = Die Scheibe hat feine Risse von Hitze auf der Fläche.
defect-disc-surface-scored = Die Scheibe hat Riefen von 0,5 bis 1,5 mm.
defect-disc-surface-band = Die Scheibe hat ein rostiges Band auf der Fläche.
defect-disc-surface-blue = Die Scheibe ist von Hitze blau.
defect-disc-surface-lip = Die Scheibe hat einen hohen Grat am Rand.
defect-disc-surface-uneven = Die Beläge berühren nicht die ganze Fläche der Scheibe.
defect-hub-face-rust = Auf der Fläche der Nabe ist Rost.
defect-hub-face-dirt = Auf der Fläche der Nabe ist Schmutz.
defect-hub-face-burr = Auf der Fläche der Nabe ist ein Grat.
defect-bearing-float-rough = Das Radlager läuft rau.
defect-fluid-level-low_leak = Die Flüssigkeit steht unter dem Minimum, und etwas ist undicht.
defect-fluid-level-low = Die Flüssigkeit steht unter dem Minimum.
defect-fluid-level-cap = Der Deckel des Behälters ist beschädigt oder lose.
defect-pedal-firm-not_firm = Das Pedal ist nicht fest.
defect-hose-porous = Der Schlauch ist porös.
defect-hose-flattened = Der Schlauch ist plattgedrückt.
defect-hose-likely_to_fail = Der Schlauch hält nicht mehr lange.
defect-hose-touching = Der Schlauch berührt ein anderes Teil.
defect-hose-unsupported = Der Schlauch ist nicht von seinem Halter gehalten.
defect-pipe-cracked = Die Leitung ist gerissen.
defect-pipe-flattened = Die Leitung ist plattgedrückt.
defect-pipe-chafe = Die Leitung ist angescheuert, um weniger als ein Drittel ihrer Wand.
defect-pads-condition-missing = Ein Belag fehlt.
defect-pads-condition-wrongly_mounted = Ein Belag ist falsch eingebaut.
defect-pads-condition-worn_to_indicator = Ein Belag ist bis zu seiner Verschleißmarke abgenutzt.
defect-pads-condition-taper = Ein Belag ist schräg abgenutzt.
defect-disc-surface-insecure = Die Scheibe sitzt lose auf der Nabe.
defect-disc-surface-missing = Die Scheibe fehlt.
defect-disc-surface-contaminated = Die Scheibe ist nass von Öl oder Fett.
defect-disc-surface-hot_spots = Die Scheibe hat Flecken von Hitze auf der Fläche.
defect-disc-surface-inner_face = Die innere Fläche der Scheibe ist schlechter als die äußere.
defect-disc-surface-obviously_worn = Die Scheibe ist deutlich abgenutzt.
defect-pedal-firm-sinks = Das Pedal sinkt, während man es hält.
defect-fluid-boiling-contaminated = Die Bremsflüssigkeit ist nicht sauber.
defect-fluid-boiling-wrong = Eine falsche Sorte Bremsflüssigkeit ist eingefüllt.

## Angebot
leave-stop = So belassen, darf das Fahrzeug nicht fahren.
leave-fail = So belassen, bleibt es vom ersten Kilometer an außerhalb der Grenze. So sollte es nicht übergeben werden.
leave-km = So belassen, kann es seine Grenze beim Stand { $at } erreichen. Das ist in { $left }.
leave-unknown = So belassen, ist keine Strecke bekannt. Beim nächsten Service in { $left } sehen wir wieder nach.
decided = { $outcome ->
    [yes] Ja, am { $time }, { $means }.
    [no] Nein, am { $time }, { $means }.
   *[later] Später, am { $time }, { $means }.
}
decided-ask = Wieder fragen am { $date }.
decided-caution = Wir sagten, dass es außerhalb der Grenze ist, und rieten vom Fahren ab.
means-telephone = am Telefon
means-in_person = persönlich
means-message = per Nachricht
means-email = per E-Mail
means-pre_authorised = im vorher vereinbarten Rahmen
quote-none = Zu diesem Auftrag liegt kein geändertes Angebot vor.
quote-given = „{ $text }“

## Zettel, Unterschrift, Hinweise
retorque-sentence = Bitte die Radbefestigung mit { $torque } prüfen lassen.
retorque-no-torque = Bitte die Radbefestigung mit dem Drehmoment des Herstellers prüfen lassen.
retorque-due = { $days ->
    [one] Bis zum Stand { $km } oder innerhalb eines Tages, je nachdem, was zuerst kommt.
   *[other] Bis zum Stand { $km } oder innerhalb von { $days } Tagen, je nachdem, was zuerst kommt.
}
retorque-by-date = Das ist bis zum { $date }.
retorque-how = Vorher nicht lösen. Was sich dreht, bitte uns melden.
not-signed = Nicht unterschrieben. Hinter diesem Blatt steht kein unterschriebenes Protokoll.
signed = Hinter diesem Blatt steht ein unterschriebenes Protokoll. Eine Änderung daran fällt auf.
check-how = Protokoll, Unterschrift und die Datei „signers“ in einen Ordner legen. Dann eingeben:
caution-what = Dieses Blatt hält eine Prüfung und Messungen dieses Tages fest.
caution-not-official = Es ist keine amtliche Prüfbescheinigung und ersetzt keine.
caution-hidden = Bremsen können aus Gründen versagen, die man bei einer Prüfung nicht sieht.
caution-law = Die Anleitung des Herstellers und das Recht am Ort gehen vor.
caution-retorque = Bitte die Radbefestigung wie angegeben noch einmal prüfen lassen.
photo-caption = Foto { $number }: { $place }, { $item }
photo-missing = Foto { $number } liegt nicht im Ordner oder ist nicht das eingetragene.
photo-unreadable = Foto { $number } kann in dieser Form nicht gezeigt werden.
caution-stands = Das Fahrzeug auf festem, ebenem Boden abstützen. Nie nur auf dem Wagenheber arbeiten.
caution-dust = Bremsstaub nicht wegblasen. Er schadet, und alte Beläge können Asbest enthalten.
caution-hot = Scheiben können heiß sein.
caution-fluid = Bremsflüssigkeit schadet Augen, Haut und Lack.
caution-eject = Federn und Kolben können herausspringen.
caution-torque = Endanzug mit dem Drehmomentschlüssel, in Stufen und in dieser Reihenfolge.
caution-pedal = Das Pedal muss fest sein, bevor das Fahrzeug sich bewegt.

## Arbeitsblatt
work-hint = Die Zahlen werden später eingegeben; dieses Blatt ist kein Protokoll.
work-stages = { $stages }, dann noch einmal mit vollem Drehmoment
work-readings = Ablesungen { $from } bis { $to }
work-swept = Kleinster und größter Wert einer langsamen Umdrehung
work-inner-outer = Innerer und äußerer Belag
work-open-closed = Offener und geschlossener Rand
work-linings = Auflaufend und ablaufend
work-value = Wert
work-look = in Ordnung, oder was zu sehen war
work-no-limit = keine Grenze bekannt

## Verlauf
event-opened = Auftrag eröffnet
event-earlier = Früherer Messwert vermerkt: { $place }, { $item }, { $value } bei { $km }
event-fitted-before = { $place }, { $item }: verbaut bei { $km }, vor diesem Auftrag
event-clockings = { $place }: mögliche Stellungen der Scheibe { $list }
event-zero = { $instrument } geprüft an { $standard }: { $text }
event-readings = { $count ->
    [one] { $place }, { $item }, { $phase }: eine Ablesung
   *[other] { $place }, { $item }, { $phase }: { $count } Ablesungen
}
event-seen-sound = { $place }, { $phase }: in Ordnung: { $item }
event-seen-defect = { $place }, { $item }, { $phase }: { $defect }
event-seen-not = { $place }, { $item }, { $phase }: nicht geprüft, „{ $reason }“
event-struck = Eintrag { $target } gestrichen: „{ $reason }“
event-asked = { $place }, { $item }: Rückfrage zu „{ $entry }“ ({ $question }), Antwort „{ $answer }“
event-note = Anmerkung, { $place }: „{ $text }“
event-photo = Foto hinzugefügt: { $place }, { $item }
event-cast = { $place }: Marke auf dem Teil gelesen, { $text }
event-fitted = { $place }: { $part } eingebaut
event-fitted-batch = { $place }: { $part } eingebaut, Charge „{ $batch }“
event-complaint = { $outcome ->
    [gone] Probefahrt von { $km }: die Beanstandung ist weg
    [better] Probefahrt von { $km }: die Beanstandung ist kleiner
    [same] Probefahrt von { $km }: die Beanstandung ist unverändert
   *[not_tried] Eine Probefahrt fand nicht statt
}
event-torque = { $count ->
    [one] { $place }: ein Anzug mit { $instrument }
   *[other] { $place }: { $count } Anzüge mit { $instrument }
}
event-torque-refused = { $place }: { $instrument } für den Endanzug abgelehnt: { $reason }
event-gate-done = Vor dem Bewegen: { $gate }
event-gate-not = Vor dem Bewegen, nicht getan: { $gate } „{ $reason }“
event-left = Fahrzeug verlassen: „{ $text }“
event-signed = Fassung { $revision } unterschrieben
event-override = { $place }, { $item }, { $phase }: Urteil von Hand auf { $verdict } gesetzt, „{ $reason }“
event-override-second = { $place }, { $item }, { $phase }: Urteil von Hand auf { $verdict } gesetzt, „{ $reason }“, mit { $second }
override-refused = gilt nicht: { $why }
event-passed = { $place }, { $item }, { $phase }: ein Wert ausgelassen
event-second = { $place }, { $item }, { $phase }: eine zweite Person las { $text }
event-personal = Angaben zur Kundschaft vermerkt, hier nur als Prüfsumme
event-quote = { $count ->
    [one] Erstes Angebot vermerkt, eine Zeile
   *[other] Erstes Angebot vermerkt, { $count } Zeilen
}
event-quote-add = Angebot: „{ $text }“ ergänzt
event-quote-drop = Angebot: „{ $text }“ gestrichen
event-quote-set = Angebot: „{ $text }“ jetzt zu { $price }
event-contact = Mit der Kundschaft gesprochen, { $means }
event-contact-words = Mit der Kundschaft gesprochen, { $means }: „{ $text }“
event-contact-missed = Kundschaft nicht erreicht, { $means }
event-point = { $place }: { $point }
event-point-not = { $place }, nicht getan: { $point } „{ $reason }“
event-wrench = { $place }: { $instrument } gab { $text }
event-retorque = Radbefestigung nachgeprüft bei { $km } mit { $instrument }
point-prepared = Nabe, Rad und Sitze sauber, Befestigung von Hand angesetzt
point-second_person = Endanzug von einer zweiten Person geprüft
point-road_test = Probefahrt gemacht
point-bedding_in = neue Teile eingefahren
event-other = Eintrag der Art „{ $kind }“
part-disc = Scheibe
part-pads = Beläge
part-linings = Bremsbacken
part-hose = Schlauch
part-calliper = Sattel oder seine Bolzen
part-sensor_speed = Raddrehzahlsensor
part-sensor_wear = Verschleißsensor
part-cylinder = Radzylinder
part-bearing = Radlager
part-drum = Trommel
part-fluid = Bremsflüssigkeit
gate-pedal_firm = Pedal gepumpt, bis es fest ist
gate-no_leak = nichts undicht bei gehaltenem Pedal
gate-fluid_level = Flüssigkeitsstand richtig, Deckel zu
gate-parking_brake = Feststellbremse aus der Servicestellung
gate-tools = Werkzeug und Magnete gezählt
gate-locking_key = Schlüssel der Felgenschlösser zurückgelegt
gate-lamps = Lampen wie sie sein sollen

## Kalender
calendar-retorque = Radbefestigung prüfen, { $vehicle }
calendar-service = Bremsen prüfen, { $vehicle }
calendar-service-text = { $items ->
    [one] Ein Teil kann seine Grenze erreichen. Der früheste Stand ist { $km }.
   *[other] { $items } Teile können ihre Grenze erreichen. Der früheste Stand ist { $km }.
}
calendar-service-plain = Der nächste Service ist beim Stand { $km } fällig.

## Daten
date = { $day }. { $month } { $year }
time = { $date }, { $clock } Uhr
month-1 = Januar
month-2 = Februar
month-3 = März
month-4 = April
month-5 = Mai
month-6 = Juni
month-7 = Juli
month-8 = August
month-9 = September
month-10 = Oktober
month-11 = November
month-12 = Dezember

## Wahrscheinliche Ursachen, für die Werkstatt: gleiche Namen wie in der englischen Datei
phrase-at = { $a }, { $b }
phrase-brakes-less-than = { $a } bremst { $b } % schwächer als { $c }
phrase-the-axle-forces-differ = die Kräfte der Achse ({ $a }) unterscheiden sich nur um { $b } %
phrase-the-inner-pad-at = der innere Belag { $a } ist viel dünner als der äußere: { $b } gegen { $c }
phrase-the-disc-at-is = die Scheibe { $a } ist { $b } mm dünner als die andere der Achse
phrase-slide-pins-seized = Führungsbolzen fest
phrase-push-the-calliper-by = Sattel von Hand hin und her schieben, beide Bolzen ziehen: Spiel, Fett, Verschleiß
phrase-both-pins-move-freely = beide Bolzen gehen leicht und sind gefettet
phrase-slide-pins-found-free = Führungsbolzen gehen leicht
phrase-that-alone-explains-it = { $a }: das allein erklärt es
phrase-piston-not-retracting = Kolben geht nicht zurück
phrase-press-the-piston-back = Kolben zurückdrücken, erst mit geschlossenem, dann mit offenem Entlüfter: nur offen leicht heißt Schlauch, nicht Kolben
phrase-the-piston-goes-back = der Kolben geht bei geschlossenem Entlüfter leicht zurück
phrase-piston-found-free = Kolben geht leicht
phrase-the-outer-pad-at = der äußere Belag { $a } ist viel dünner als der innere: { $b } gegen { $c }
phrase-outer-pad-hung-in = äußerer Belag klemmt im Träger, oder ein Führungsbolzen geht schwer
phrase-take-the-outer-pad = äußeren Belag von Hand herausnehmen; Auflagen säubern, Klammern prüfen
phrase-the-outer-pad-slides = der äußere Belag gleitet frei im Träger
phrase-clips-and-springs-found = Klammern und Federn in Ordnung
phrase-worn-carrier-one-slide = Träger verschlissen, ein Führungsbolzen fest oder falscher Belag
phrase-compare-both-pins-wear = Verschleiß beider Bolzen vergleichen, Sitz der Klammer und Trägerplatte des Belags ansehen
phrase-both-pins-are-alike = beide Bolzen sind gleich, und der Belag sitzt gerade
phrase-a-pad-at-is = ein Belag { $a } ist um { $b } dünner an seinem { $c } Ende
phrase-leading = auflaufenden
phrase-trailing = ablaufenden
phrase-the-piston-at-is = der Kolben { $a } geht nicht leicht
phrase-brake-dragging-piston-sticking = Bremse schleift: Kolben klemmt, Schlauch innen zugequollen, oder die Feststellbremse löst nicht
phrase-spin-the-wheel-after = Rad nach dem Lösen der Bremse drehen, Entlüfter öffnen und wieder drehen; Temperatur der Scheiben vergleichen
phrase-the-wheel-runs-free = das Rad läuft gleich nach dem Lösen der Bremse frei
phrase-both-pads-at-are = beide Beläge { $a } sind mindestens { $b } dünner als { $c }
phrase-that-side-may-do = { $a }: vielleicht leistet stattdessen diese Seite zu wenig
phrase-the-disc-at-was = die Scheibe { $a } hatte { $b } °C, die { $c } { $d } °C
phrase-this-wheel-does-too = dieses Rad leistet zu wenig: Kolben fest, Luft, Schlauch verstopft oder Beläge verschmutzt
phrase-bleed-this-calliper-and = diesen Sattel entlüften und den Durchfluss beider Seiten vergleichen, dann die Kräfte neu messen
phrase-the-forces-are-alike = nach dem Entlüften sind die Kräfte gleich
phrase-both-pads-at-are-at = beide Beläge { $a } sind mindestens { $b } dicker als { $c }
phrase-pad-wear-sensor-wire = Kabel des Verschleißsensors angescheuert oder sein Stecker nass
phrase-measure-the-loop-continuity = Durchgang der Schleife messen, Stecker trennen und hineinsehen
phrase-the-loop-is-whole = die Schleife ist ganz und der Stecker trocken
phrase-the-pads-at-still = die Beläge { $a } haben noch { $b } mm
phrase-pad-wear-sensor-found = Verschleißsensor in Ordnung, keine Lampe
phrase-pad-wear-sensor-broken = Verschleißsensor gebrochen oder überbrückt, oder er sitzt an einem anderen Belag
phrase-trace-which-pad-carries = nachsehen, welcher Belag den Sensor trägt, dann seinen Durchgang messen
phrase-the-sensor-sits-on = der Sensor sitzt an einem Belag, der noch dick ist
phrase-the-pads-at-are = die Beläge { $a } haben nur noch { $b } mm
phrase-squeal-is-complained-of = ein Quietschen ist gemeldet
phrase-glazed-pads-dry-abutments = verglaste Beläge, trockene Auflagen: geringe Nutzung, oder Hitze vom Schleifen
phrase-clean-and-grease-the = Auflagen säubern und fetten, Beläge einfahren, wieder hinhören
phrase-the-noise-stays-after = das Geräusch bleibt nach Säubern und Einfahren
phrase-calliper-seal-hose-union = Dichtung des Sattels, Verschraubung oder Nabenfett tropft auf die Beläge
phrase-clean-press-the-pedal = säubern, Pedal drücken, nasse Stelle unter Druck suchen; nach der Reparatur die Beläge der Achse erneuern
phrase-nothing-gets-wet-under = unter Druck wird nichts nass
phrase-calliper-found-dry = Sattel trocken
phrase-rust-behind-the-friction = Rost hinter dem Reibbelag, oder seine Klebung löst sich
phrase-photograph-the-pad-edge = Rand des Belags fotografieren, die drei anderen ansehen
phrase-the-plate-is-clean = die Platte ist sauber und der Rand ganz
phrase-pad-worn-to-its = Belag bis auf die Platte abgenutzt
phrase-take-the-pads-out = Beläge herausnehmen, beide Platten und die Fläche der Scheibe ansehen
phrase-friction-material-stands-over = über der ganzen Platte steht noch Reibbelag
phrase-grinding-is-complained-of = ein Schleifgeräusch ist gemeldet
phrase-something-began-to-drag = seit dem letzten Besuch schleift etwas, oder das Fahrzeug wird anders genutzt
phrase-drag-test-spin-the = Freilauf prüfen: Rad nach dem Lösen drehen; nach Fahrer und Anhänger fragen
phrase-the-wheel-runs-free-and = das Rad läuft frei, und die Nutzung hat sich geändert
phrase-the-pads-at-wear = die Beläge { $a } verschleißen mehr als 1,5-mal so schnell wie zuvor
phrase-normal-for-a-leading = für die auflaufende Backe normal; verschleißt die andere kaum, kann der Radzylinder auf ihrer Seite fest sein
phrase-watch-both-ends-of = bei leicht gedrücktem Pedal zusehen, ob sich beide Enden des Zylinders bewegen
phrase-both-pistons-of-the = beide Kolben des Zylinders bewegen sich
phrase-leading-lining-against-trailing = auflaufende Backe { $a } gegen ablaufende { $b }, { $c }
phrase-inner-pad-hanging-or = innerer Belag klemmt, oder Wasser und Sand hinter der Scheibe
phrase-look-at-pins-dust = Bolzen, Schutzblech und Bewegung des Belags ansehen
phrase-both-pads-move-freely = beide Beläge gehen leicht, und das Blech ist ganz
phrase-normal-wear-the-disc = gewöhnlicher Verschleiß, die Scheibe spät erneuert
phrase-measure-inside-the-lip = innerhalb des Grates messen
phrase-the-thickness-inside-the = die Dicke innerhalb des Grates ist weit von der Grenze
phrase-pad-not-covering-the = Belag deckt die Fläche nicht: geringe Nutzung, klemmender Belag, oder die Hinterachse leistet wenig
phrase-is-the-pad-free = ist der Belag frei? auf der Straße sauber bremsen, Kräfte messen
phrase-the-band-is-gone = das Band ist nach einigen kräftigen Bremsungen weg
phrase-grit-between-pad-and = Sand zwischen Belag und Scheibe, oder ein Belag bis auf die Platte abgenutzt
phrase-measure-the-groove-depth = Tiefe der Riefe messen, Flächen der Beläge ansehen
phrase-the-grooves-are-shallower = die Riefen sind flacher als der Wert der Werkstatt
phrase-thermal-fatigue = Ermüdung durch Hitze
phrase-photograph-and-measure-the = Riss fotografieren und messen; Scheiben der Achse erneuern
phrase-the-line-is-a = die Linie ist ein Kratzer, der auf der Fläche endet
phrase-normal-heat-checking-while = gewöhnliche Hitzerisse, solange sie flach sind
phrase-look-again-at-the = beim nächsten Service ansehen, ob eine Linie einen Rand erreicht
phrase-a-line-reaches-the = eine Linie erreicht den Rand oder geht durch: dann ist es ein Riss
phrase-judder-is-complained-of = ein Zittern ist gemeldet
phrase-run-out-has-been = der Schlag hat die Scheibe ungleich dick geschliffen
phrase-separate-hub-and-disc = Nabe und Scheibe durch Versetzen der Scheibe trennen; versetzt einbauen oder erneuern
phrase-the-thin-spot-is = die dünne Stelle liegt nicht bei der hohen Stelle des Schlags
phrase-thickness-varies-by-m = die Dicke schwankt um { $a } µm, { $b }, und der Schlag ist { $c }
phrase-most-of-the-thickness = der Dickenunterschied kommt meist einmal je Umdrehung ({ $a } µm gegen { $b } µm zweimal)
phrase-pad-deposits-or-a = Ablagerung vom Belag, oder Rostfleck vom Stehen
phrase-clean-the-face-as = Fläche säubern, wie der Hersteller es erlaubt, einfahren, neu messen
phrase-the-variation-is-the = der Unterschied ist nach dem Säubern derselbe
phrase-thickness-varies-by-m-at = die Dicke schwankt um { $a } µm, { $b }, obwohl der Schlag nur { $c } ist
phrase-early-stage-the-run = früher Zustand: der Schlag hat die Scheibe noch nicht abgenutzt, ein Zittern ist zu erwarten
phrase-correct-the-run-out = Schlag jetzt beheben: Fläche der Nabe säubern, Scheibe auf der Nabe versetzen
phrase-the-run-out-is = der Schlag hält nach dem Säubern seine Grenze
phrase-run-out-of-at = Schlag von { $a }, { $b }, bei gleichmäßiger Dicke und ohne Beanstandung
phrase-turning-the-disc-at = das Versetzen der Scheibe { $a } trennt { $b }, die an der Nabe bleiben, und { $c }, die der Scheibe folgen
phrase-the-hub-dirt-or = die Nabe: Schmutz oder Rost auf der Fläche, verbogene Nabe oder ihr Lager
phrase-clean-the-hub-face = Fläche der Nabe säubern, Flansch selbst messen, Lager fühlen
phrase-the-disc-own-tilt = der Schlag der Scheibe selbst
phrase-measure-the-disc-on = Scheibe auf der Bank messen; auf der Nabe versetzen, abdrehen oder erneuern
phrase-hub-and-disc-together = Nabe und Scheibe zusammen: in dieser Stellung addiert sich beider Schlag
phrase-measure-in-another-clocking = in einer anderen Stellung messen
phrase-turn-the-disc-on = Scheibe um { $a } Löcher weiterdrehen: dort sind { $b } zu erwarten
phrase-the-run-out-does = der Schlag ändert sich beim Versetzen nicht wie vorhergesagt
phrase-the-ring-in-clocking = die Runde in Stellung { $a } liegt { $b } neben der Vorhersage
phrase-it-agrees = { $a }: das passt
phrase-a-dirt-flake-a = eine Schmutzflocke, eine falsche Marke, oder die Zahlen laufen rückwärts
phrase-clean-both-faces-make = beide Flächen säubern, Bolzen 1 und Marke der Scheibe sicherstellen, Runde neu messen
phrase-the-repeated-ring-still = die wiederholte Runde weicht immer noch ab
phrase-in-clocking-the-run = in Stellung { $a } liegt der Schlag { $b } neben der Vorhersage, das { $c }-fache seiner Unsicherheit
phrase-dirt-or-rust-between = Schmutz oder Rost zwischen Nabe und Scheibe machte einen Teil davon aus
phrase-clean-both-faces-bright = bei jedem Einbau beide Flächen blank säubern, vor dem Rad messen
phrase-the-run-out-is-back = der Schlag ist trotz sauberer Flächen wieder beim ersten Wert
phrase-in-the-same-position = in derselben Stellung fiel der Schlag { $a } beim neuen Messen von { $b } auf { $c }
phrase-run-out-of-at-alone = Schlag von { $a }, { $b }
phrase-the-hub-face-was = die Fläche der Nabe war zuvor nicht gesäubert
phrase-clean-it-bright-and = blank säubern und den Schlag in derselben Stellung neu messen
phrase-the-run-out-is-the = der Schlag ist auf sauberer Fläche derselbe
phrase-uneven-clamping-fasteners-unlike = ungleich gespannt: Befestigung ungleich fest, Grat an den Löchern, Zwischenring fehlt
phrase-slacken-tighten-in-stages = lösen, in Stufen über Kreuz anziehen, neu messen
phrase-the-alternation-stays-after = der Wechsel bleibt nach gleichmäßigem Spannen
phrase-of-the-run-out = { $a } des Schlags { $b } wechseln zwischen den Bolzen und den Stellen dazwischen
phrase-disc-distorted-by-heat = Scheibe durch Hitze sattelförmig
phrase-look-for-blue-spots = nach blauen Flecken sehen, dann die Scheiben der Achse erneuern
phrase-it-is-gone-after = es ist weg, wenn die Scheibe auf sauberer Fläche gleichmäßig gespannt ist
phrase-of-the-run-out-at = { $a } des Schlags { $b } kommen zweimal je Umdrehung
phrase-dirty-hub-face-oil = Fläche der Nabe schmutzig, Ölfilm, ungleiches Drehmoment, oder die Scheibe liegt nicht auf
phrase-clean-both-faces-clamp = beide Flächen säubern, in Stufen spannen, neu messen; dann auf der Nabe versetzen
phrase-a-second-new-disc = eine zweite neue Scheibe zeigt dasselbe
phrase-the-disc-at-is-new = die Scheibe { $a } ist neu, und ihr Schlag hält nicht
phrase-judder-when-hot-hot = Zittern in der Wärme: Hitzeflecken oder Hitzerisse
phrase-look-for-blue-spots-measure = nach blauen Flecken sehen, Dickenunterschied an der warmen Scheibe messen
phrase-the-judder-is-the = das Zittern ist mit kalten Bremsen dasselbe
phrase-overheated-the-brake-drags = überhitzt: die Bremse schleift, oder sie wurde hart genutzt
phrase-drag-test-spin-the-wheel = Freilauf prüfen: Rad nach dem Lösen der Bremse drehen
phrase-the-wheel-runs-free-and-the = das Rad läuft frei, und die Nutzung erklärt es
phrase-corrosion-in-the-wheel = Rost im Stecker des Raddrehzahlsensors
phrase-clean-and-dry-the = Stecker säubern und trocknen, Widerstand oder Signal messen
phrase-the-fault-stays-with = der Fehler bleibt bei sauberem, trockenem Stecker
phrase-wheel-speed-sensor-wire = Kabel des Raddrehzahlsensors reibt an einem bewegten Teil
phrase-move-the-steering-and = Lenkung und Federung ganz durchbewegen und auf das Kabel sehen
phrase-the-wire-touches-nothing = das Kabel berührt in keiner Stellung etwas
phrase-corrosion-between-the-wheel = Rost zwischen Rad und Nabe
phrase-clean-and-treat-both = beide Flächen säubern und behandeln, nie die Gewinde; Drehmoment nach der ersten Strecke neu prüfen
phrase-the-faces-are-clean = die Flächen sind sauber, und das Rad sitzt doch fest
phrase-mixed-parts-or-a = gemischte Teile, oder falscher Sitz
phrase-match-thread-length-and = Gewinde, Länge und Sitz jeder Befestigung vergleichen, Abweichendes erneuern
phrase-all-fasteners-carry-the = alle haben dieselbe Kennzeichnung und denselben Sitz
phrase-wheel-not-tightened-in = Rad nicht in Stufen angezogen, Farbe oder Rost unter dem Sitz, oder gedehnte Bolzen
phrase-check-every-fastener-of = jede Befestigung aller Räder prüfen, Bolzen, Sitze und Löcher auf blanke Stellen und roten Staub ansehen
phrase-seats-holes-and-studs = Sitze, Löcher und Bolzen sind sauber und ganz
phrase-recent-work = kürzlich gearbeitet
phrase-ask-for-the-history = nach der Vorgeschichte fragen, Drehmoment des Gelösten prüfen
phrase-the-history-explains-the = die Vorgeschichte erklärt die Spuren, und das Drehmoment stimmt
phrase-bolt-loosened-wrong-or = Schraube gelöst: falsch oder nicht gesichert, oder Einmalschraube wieder benutzt
phrase-do-not-drive-check = nicht fahren: Gewinde prüfen, erneuern und anziehen, wie der Hersteller es sagt
phrase-the-bolt-holds-its = die Schraube hält ihr Drehmoment, und die Marke wurde nie erneuert
phrase-calliper-seal-hose-union-or = Dichtung des Sattels, Verschraubung oder Nabenfett
phrase-clean-hold-the-pedal = säubern, Pedal halten, nasse Stelle suchen
phrase-everything-stays-dry-under = unter Druck bleibt alles trocken
phrase-wheel-cylinder-weeping = Radzylinder schwitzt
phrase-peel-the-boot-back = Manschette zurückziehen und ansehen; beide Zylinder der Achse erneuern
phrase-it-is-dry-under = unter der Manschette ist es trocken
phrase-the-hose-reinforcement-is = das Gewebe des Schlauches ist gebrochen
phrase-have-the-pedal-pressed = Pedal drücken lassen und auf den Schlauch sehen; beide erneuern
phrase-it-does-not-grow = unter Druck wird er nicht dicker
phrase-the-hose-may-act = der Schlauch kann wie ein Ventil wirken: er lässt Druck hinein und nicht heraus
phrase-brake-release-spin-the = bremsen, lösen, Rad drehen; Entlüfter öffnen und wieder drehen
phrase-the-wheel-runs-free-at = das Rad läuft gleich nach dem Lösen frei
phrase-pads-knock-or-hang = Beläge klappern oder klemmen: Haltefeder fehlt oder ist schwach, oder eine Trägerschraube ist lose
phrase-fit-the-spring-check = Feder einbauen, Drehmoment der Trägerschrauben prüfen, wieder hinhören
phrase-the-noise-stays-with = das Geräusch bleibt mit neuen Federn und festen Schrauben
phrase-a-warning-lamp-is = eine Warnlampe ist gemeldet
phrase-torque-lost-paint-rust = Drehmoment verloren: Farbe, Rost oder Mittel unter dem Sitz, oder ein gedehnter Bolzen
phrase-clean-the-seats-renew = Sitze säubern, was sich dreht erneuern, nach der ersten Strecke neu prüfen
phrase-no-fastener-turns-at = bei der nächsten Prüfung dreht sich nichts
phrase-fastener-at-turned-when = Befestigung { $a }, { $b }, drehte sich beim Nachprüfen um { $c }°
phrase-drum-oval-or-bell = Trommel unrund oder aufgeweitet: überhitzt, oder die Feststellbremse heiß angezogen
phrase-turn-it-down-within = bis zum Höchstmaß des Herstellers ausdrehen, oder beide erneuern
phrase-the-drum-is-round = sauber und kalt gemessen ist die Trommel rund
phrase-ovality-mm-bell-mouth = unrund { $a } mm, aufgeweitet { $b } mm, { $c }
phrase-air-a-blocked-hose = Luft, Schlauch verstopft, Kolben fest oder Beläge verschmutzt auf der schwachen Seite
phrase-bleed-both-sides-and = beide Seiten entlüften und den Durchfluss vergleichen; Schlauch, Kolben und Beläge der schwachen Seite prüfen
phrase-brakes-less-and-the = { $a } bremst { $b } % schwächer, und die Beläge der Achse sind gleich
phrase-parking-brake-a-cable = Feststellbremse: Seil fest, Motor schwach, oder Backen auf einer Seite verstellt
phrase-compare-lever-force-and = Hebelkraft und Weg beider Seiten vergleichen, auf das Seil sehen
phrase-both-sides-move-alike = beide Seiten bewegen sich gleich
phrase-the-parking-brake-holds = die Feststellbremse hält { $a } % schwächer, { $b }
phrase-stability-control-at-work = Fahrdynamikregelung am Werk, oder die Feststellbremse schleift
phrase-release-the-parking-brake = Feststellbremse lösen, beide Hinterräder drehen; ist sie elektrisch, ihre Zyklen zählen
phrase-both-rear-wheels-run = beide Hinterräder laufen frei
phrase-the-thinnest-rear-pad = der dünnste Belag hinten hat { $a }, der dünnste vorn { $b }
phrase-at-one-pad-alone = { $a } ist nur ein Belag dünn: dort zuerst nachsehen
phrase-normal-wear = gewöhnlicher Verschleiß
phrase-compare-the-rate-with = Verschleiß mit der eigenen Vorgeschichte des Fahrzeugs vergleichen
phrase-the-rate-rose-since = der Verschleiß ist seit dem letzten Besuch schneller
phrase-every-pad-has-between = jeder Belag hat zwischen { $a } und { $b }
phrase-the-fluid-boils-at = die Flüssigkeit siedet bei { $a } °C
phrase-the-fluid-boils-at-c = die Flüssigkeit siedet bei { $a } °C, weit über ihrer Grenze
phrase-moisture-in-the-fluid = Wasser in der Flüssigkeit, oder Luft im System
phrase-boiling-test-at-a = Siedepunkt am Entlüfter eines Sattels prüfen, dann Flüssigkeit wechseln und entlüften
phrase-the-pedal-is-soft = das Pedal ist mit neuer, entlüfteter Flüssigkeit weich
phrase-a-soft-pedal-is = ein weiches Pedal ist gemeldet
phrase-pads-knocked-back-by = Beläge von losem Lager oder Schlag zurückgeschlagen
phrase-does-a-second-stroke = wird das Pedal beim zweiten Treten fest? Spiel des Lagers messen
phrase-the-pedal-is-the = das Pedal ist beim zweiten Treten gleich
phrase-a-soft-or-long = ein weiches oder langes Pedal ist gemeldet
phrase-uneven-brake-forces-hose = ungleiche Bremskräfte: Schlauch, Kolben oder verschmutzte Beläge auf der schwachen Seite; sonst ein Reifen
phrase-roller-test-then-swap = Rollenprüfung, dann die Vorderräder tauschen und neu versuchen
phrase-the-forces-are-alike-and = die Kräfte sind gleich, und der Zug wechselt mit den Reifen die Seite
phrase-a-pull-is-complained = ein Ziehen zur Seite ist gemeldet
phrase-not-the-brakes-wheel = nicht die Bremsen: Auswuchtung, ein Lager der Aufhängung, Spiel der Lenkung oder der Antrieb
phrase-does-it-shake-without = zittert es auch ohne Bremsen? Räder auswuchten, Aufhängung ansehen
phrase-it-shakes-only-while = es zittert nur beim Bremsen
phrase-run-out-and-thickness = Schlag und Dickenunterschied sind an jedem Rad gut
phrase-no-reason-is-given = kein Grund angegeben
phrase-stays-what-it-is = { $a } bleibt, bis geprüft wurde und eine Grenze bekannt ist; nur FAIL kann gesetzt werden
phrase-it-is-already = es ist schon { $a }
phrase-it-cannot-be-made = es kann nicht gemildert werden: { $a }
phrase-these-readings-can-never = diese Ablesungen können nie ein PASS geben
phrase-a-less-severe-verdict = ein milderes Urteil braucht eine zweite Person, eine andere als { $a }
phrase-it-is-beyond-the = es liegt hinter der Grenze: { $a }
phrase-a-vehicle-that-must = ein Fahrzeug, das nicht fahren darf, wird nie besser genannt
phrase-the-is-still-seized = noch sitzt fest: { $a }
phrase-makes-it-a-failure = { $a } macht es zum Mangel
phrase-slide-pin = Führungsbolzen
phrase-piston = Kolben
phrase-front = vorn
phrase-rear = hinten
phrase-at-the-inner-face = { $a } hat die innere Fläche { $b } mm verloren und die äußere { $c } mm
