"""What words in column names mean: trade abbreviations and common words in four languages.

A word stands for a *concept*; a channel asks for a set of concepts (``rules.py``). English, German, French
and Spanish are covered; words are written without accents, German umlauts once plain and once with an e.
"""

from __future__ import annotations

from functools import lru_cache

_CONCEPTS: dict[str, str] = {
    # where
    "latitude": "lat latitude breite breitengrad latitud",
    "longitude": "lon long lng lo longitude länge längengrad longitud",
    "altitude": "alt altitude höhe altitud altura hauteur elevation elev height hgt ele flughöhe altitudes",
    "pressure": "press pres pressure druck pression presion std standard qne 1013 presalt isa",
    "baro": "baro barometric barometer barometrisch barometrique barometrica barometrico altimeter altimetre "
    "altimetro höhenmesser",
    "gps": "gps gnss satellite satellit satelite sat geo geom geometric geometrisch gnss2",
    "msl": "msl amsl asl nn mer mar",
    "ellipsoid": "ellipsoid ellipsoidal ellipsoidisch wgs wgs84 hae ellip ellipsoide",
    "agl": "agl aal radar",
    "ground": "ground gnd grund sol suelo tierra boden over",
    # how fast
    "speed": "speed spd velocity vel vitesse geschwindigkeit velocidad geschw",
    "vertical": "vertical vert vrt vertikal verticale vrtcl",
    "vario": "vario vsi ivsi vvi variometer variometre variometro roc rocd climb steig steigen steigrate "
    "sinkrate montee ascenso ascension vspd vspeed climbrate",
    "air": "air luft flug aire",
    "fahrt": "fahrt badin anemometre anemometro fahrtmesser",
    "indicated": "indicated ind angezeigt angezeigte indiquee indique indicada indicado anzeige",
    "calibrated": "calibrated cal kalibriert kalibrierte calibree calibrada conventionnelle berichtigte",
    "ias": "ias kias asi",
    "cas": "cas kcas",
    "tas": "tas ktas eigengeschwindigkeit",
    "gs": "gs sog groundspeed kgs vsol",
    "north": "north nord norte northing n",
    "east": "east ost este est easting e",
    "down": "down unten bas abajo d",
    "up": "up oben haut arriba u",
    # which way
    "track": "track trk cog tmg route derrota trayectoria kurswinkel",
    "course": "course kurs rumbo bearing crs brg peilung",
    "heading": "heading hdg head steuerkurs cap yaw azimuth gieren gierwinkel lacet guinada kompasskurs "
    "azimut hding",
    "magnetic": "mag magnetic magn missweisend missweisender mw magnetique magnetico magnetica missw "
    "magnetisch kompass",
    "true": "true tru propre propia wahr wahre wahrer rechtweisend rechtweisender rw vrai vraie "
    "verdadero verdadera geographic",
    "variation": "variation var magvar declination decl missweisung deklination declinaison declinacion "
    "ortsmissweisung variacion",
    # attitude
    "bank": "roll bank querneigung querlage roulis inclinaison alabeo inclinacion rolle schräglage rollen",
    "pitch": "pitch längsneigung nick nicken assiette tangage cabeceo nase längslage",
    "rate": "rate drehrate taux tasa rates gyro gyr p_rate",
    "aoa": "aoa alpha anstellwinkel incidence incidencia angleofattack ataque attack",
    "sideslip": "sideslip beta aos schiebewinkel derapage resbale",
    # loads
    "accel": "acc accel acceleration beschleunigung aceleracion accelerometer ac acel acceler",
    "g": "g gs gload gforce gmeter lastvielfaches lastfaktor charge carga load gmtr metr meter loadfactor",
    "normal": "normal norm nz z normale",
    "lateral": "lateral laterale quer seitlich ny y transversal side",
    "longitudinal": "longitudinal longitudinale fwd forward vorwärts nx x längs axial",
    # air mass
    "temperature": "temp temperature temperatur temperatura tmp",
    "outside": "outside outer ext external exterieure exterieur exterior aussen ambient",
    "oat": "oat aussentemperatur aussentemp",
    "qnh": "qnh kollsman altset altimetersetting",
    "setting": "setting calage ajuste einstellung reglage",
    "static": "static statisch statique estatica stat",
    "wind": "wind wnd vent viento",
    "direction": "direction dir dr richtung direccion from aus",
    # engine and levers
    "rpm": "rpm drehzahl regime rev revs revolutions tourenzahl revoluciones umdrehungen tr tours "
    "vueltas motordrehzahl",
    "engine": "engine eng motor moteur e1 propeller prop",
    "manifold": "map manifold man ladedruck admission admision mp",
    "power": "power pwr leistung puissance potencia",
    "throttle": "throttle thr tps gashebel manette gaz acelerador thrtl gasstellung",
    "fuel": "fuel kraftstoff carburant combustible sprit benzin essence treibstoff",
    "flow": "flow ff fflow durchfluss debit flujo consumo verbrauch consommation fuelflow fluss caudal",
    "flaps": "flaps flap klappen klappe volets volet wölbklappen landeklappen",
    "stall": "stall überzieh überziehen decrochage perdida",
    "warning": "warning warn horn alert warnung alarme avertisseur aviso",
    "flightlevel": "fl flightlevel flugfläche niveau",
    # columns of other kinds: a name that holds one of these is no channel of ours
    "engine temperature": "egt cht tit coolant kühlwasser turbine exhaust cylinder cyl zyt culasse egts chts",
    "oil": "oil öl huile aceite",
    "electrics": "volts volt amps amp bus battery batt spannung strom voltage current volts1 amps1 "
    "alternator",
    "fuel quantity": "qty quantity remain remaining tank total fuell fuelr menge cantidad",
    "navigation aid": "waypoint wpt dest destination dtk xtk cdi hsi nav obs vor ils dme next desired "
    "bearingto dist distance cross",
    "autopilot": "selected sel target bug command commanded cmd autopilot ap fd director soll preselect "
    "consigne seleccionado setpoint desired",
    "quality": "error err sigma stddev accuracy hdop vdop pdop dop valid fail status count raw counts "
    "integrity "
    "fix sats satellites std_dev hal val hpl vpl uncertainty hacc vacc age dataage",
    "other": "density dew dewpoint cabin trim servo id mode flag max maxi mini carb chan frequency freq "
    "com1 com2 nav1 nav2 terrain sunrise gear hobbs tach delta compass_cal checksum crc",
}

NEUTRAL = frozenset(
    [
        "angle",
        "ang",
        "winkel",
        "the",
        "of",
        "de",
        "du",
        "des",
        "la",
        "le",
        "les",
        "el",
        "del",
        "der",
        "die",
        "das",
        "über",
        "uber",
        "ueber",
        "over",
        "pos",
        "position",
        "value",
        "val",
        "filtered",
        "smoothed",
        "smooth",
        "sensor",
        "ahrs",
        "adc",
        "adahrs",
        "imu",
        "ins",
        "efis",
        "pfd",
        "mfd",
        "aircraft",
        "plane",
        "attitude",
        "att",
        "data",
        "lage",
        "lagewinkel",
        "level",
        "current",
        "measured",
        "reading",
        "display",
        "d'",
        "au",
        "en",
        "y",
        "ned",
        "enu",
        "made",
        "good",
        "stellung",
        "ned",
        "instrument",
        "flight",
        "recorded",
        "1",
        "deg",
        "world",
        "l",
        "computed",
        "a",
        "in",
        "euler",
        "velo",
        "body",
        "axis",
        "angular",
        "angulaire",
        "winkelgeschwindigkeit",
        "angulosa",
        "facteur",
        "factor",
        "faktor",
        "factores",
        "pilot",
        "indication",
    ]
)
"""Words that carry no meaning of their own."""

FOREIGN_COLUMNS = (
    "engine temperature",
    "oil",
    "electrics",
    "fuel quantity",
    "navigation aid",
    "autopilot",
    "quality",
    "other",
)
"""Concepts that make a column none of ours."""

WHOLE_NAMES: dict[str, tuple[str, ...]] = {
    name: tuple(concepts.split())
    for names, concepts in (
        ("vspd vspdg vspeed vertspd vertspeed spdv", "vario"),
        ("vn veln vnorth vnord speedn nvel", "speed north"),
        ("ve vele veast veast eastvel", "speed east"),
        ("vd veld vdown", "speed down"),
        ("vu velu vup vz", "speed up"),
        ("vs vvi vsp vzp vc", "vario"),
        ("vi va kias vias vind", "ias"),
        ("vp vv vtas vw", "tas"),
        ("vg vgs vsol vgnd gspd gspeed gpsspeed spdgps spd_gps sog", "gs"),
        ("nz gz nzg gload an nzcg vertg vertaccg", "g normal"),
        ("ny gy latg", "g lateral"),
        ("nx gx longg", "g longitudinal"),
        ("az accz acz", "accel normal"),
        ("ay accy acy", "accel lateral"),
        ("ax accx acx", "accel longitudinal"),
        ("p wx gyrx gyrox rollrate", "bank rate"),
        ("q wy gyry gyroy pitchrate", "pitch rate"),
        ("r wz gyrz gyroz yawrate", "heading rate"),
        ("phi", "bank"),
        ("theta tht", "pitch"),
        ("psi", "heading"),
        ("alpha aoa", "aoa"),
        ("beta aos", "sideslip"),
        ("palt altp hp pa zp altpress altstd altfl presalt", "altitude pressure"),
        ("altb balt altbaro altind hi hbaro za zi altqnh", "altitude baro"),
        ("altg galt hgps altgps hmsl zgps", "altitude gps"),
        ("h z", "altitude"),
        ("dalt densalt", "other"),
        ("mh maghdg hdgm cm", "heading magnetic"),
        ("th truehdg hdgt cv", "heading true"),
        ("tt trkt rv", "track true"),
        ("mt trkm rm", "track magnetic"),
        ("wn windn", "wind north"),
        ("we winde", "wind east"),
        ("wd wdir winddir wnddr", "wind direction"),
        ("ws wspd windspd", "wind speed"),
        ("oat sat tat at ta", "oat"),
        ("ps pstat pstatic statp", "static pressure"),
        ("baro qnh altset altimeter", "qnh"),
        ("map mp", "manifold"),
        ("ff fflow", "fuel flow"),
        ("roc rocd", "vario"),
        ("lat", "latitude"),
        ("lon lng long", "longitude"),
        ("mv magvar decl", "variation"),
        ("fl", "flightlevel"),
    )
    for name in names.split()
}
"""Abbreviations that mean something only when they are the whole name."""


@lru_cache(maxsize=1)
def words() -> dict[str, str]:
    """Every known word and its concept."""
    known: dict[str, str] = {}
    for concept, listed in _CONCEPTS.items():
        for word in listed.split():
            for spelling in _spellings(word):
                known.setdefault(spelling, concept)
    return known


def _spellings(word: str) -> tuple[str, ...]:
    """``höhe`` is met as ``hohe`` (accent dropped) and as ``hoehe``."""
    plain = word.translate(str.maketrans("äöü", "aou"))
    long = word.replace("ä", "ae").replace("ö", "oe").replace("ü", "ue")
    return (plain,) if plain == long else (plain, long)


@lru_cache(maxsize=4096)
def pieces(token: str) -> tuple[str, ...]:
    """A run-together token as the fewest known words, or itself when it cannot be cut so.

    >>> pieces("grundgeschwindigkeit")
    ('grund', 'geschwindigkeit')
    >>> pieces("xyzzy")
    ('xyzzy',)
    """
    known = words()
    if token in known or token in NEUTRAL or len(token) < 4:
        return (token,)
    best: list[tuple[str, ...] | None] = [()] + [None] * len(token)
    for end in range(1, len(token) + 1):
        for start in range(max(0, end - 22), end):
            before, word = best[start], token[start:end]
            if before is None or not _is_piece(word, known):
                continue
            here = best[end]
            if here is None or len(before) + 1 < len(here):
                best[end] = (*before, word)
    return best[-1] or (token,)


def _is_piece(word: str, known: dict[str, str]) -> bool:
    if len(word) >= 3:
        return word in known or word in NEUTRAL
    return word in {"ac", "gs", "dr", "of"}
