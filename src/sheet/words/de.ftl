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
label-band = Das helle Band um eine Marke zeigt, wo der wahre Wert liegt.
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
drive-later = Ja. Bitte die Punkte unter „{ $later }“ einplanen.
drive-good = Ja. Alles, was wir geprüft haben, hält.

## Die vier Gruppen
group-now = Bevor es sich bewegt
group-later = Vor einer Strecke oder einem Tag
group-holds = Hält
group-unseen = Nicht gesehen
group-put-right = Bei diesem Besuch behoben
group-now-none = Nichts.
group-later-none = Nichts.
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
