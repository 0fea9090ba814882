"""Names of columns, in the trade's abbreviations and four languages."""

from __future__ import annotations

import numpy as np
import pytest

from chalkwing.recordings.delimited.names import read_name
from chalkwing.recordings.delimited.rules import meanings

MEANT = {
    "bank": "Roll|Bank|bank_angle|Querneigung|Roulis|Inclinaison|Inclinaison latérale|Alabeo|roll_rad|"
    "Rollwinkel|phi|AHRS Roll (deg)",
    "pitch": "Pitch|pitch_attitude|Längsneigung|Laengsneigung|Assiette|Assiette longitudinale|Cabeceo|"
    "theta|PitchAngle",
    "indicated_airspeed": "IAS|KIAS|Airspeed|Indicated Airspeed (kt)|Fahrt|angezeigte "
    "Fluggeschwindigkeit|Vitesse indiquée|Vi|"
    "Velocidad indicada|ias_kt|AIRSPEED IND",
    "true_airspeed": "TAS|KTAS|True Airspeed|Eigengeschwindigkeit|Vitesse propre|wahre Fahrt|Velocidad "
    "verdadera|tas_kmh",
    "calibrated_airspeed": "CAS|KCAS|Calibrated Airspeed",
    "ground_speed": "GS|GndSpd|Ground speed|groundspeed|Grundgeschwindigkeit|Geschwindigkeit über Grund|"
    "Vitesse sol|Velocidad suelo|SOG|gps_speed",
    "track": "Track|TRK|COG|Kurs über Grund|Route|Ground Track|course over ground|Derrota|track_deg_true",
    "heading_magnetic": "HDG|Mag Heading|hdg_mag_deg|Steuerkurs|Cap magnétique|magnetic_heading|Heading "
    "(deg mag)|Heading [°M]",
    "heading_true": "True Heading|heading_true_deg|rechtweisender Steuerkurs|Cap vrai",
    "vertical_speed": "VSI|V/S|VSpd|Vario|Steigen|vertical_rate|Vitesse verticale|Velocidad vertical|"
    "climb rate (fpm)|vu|ROC",
    "pressure_altitude": "Palt|PressAlt|Pressure Altitude|Druckhöhe|Druckhoehe|Altitude pression|palt_ft|"
    "Altitud presión",
    "geometric_altitude": "AltMSL|AltGPS|GPS Alt|GPS-Höhe|Altitud GPS|alt (ft msl)|ellipsoid height|"
    "gps_altitude_m",
    "altimeter_altitude": "AltB|Baro alt|indicated altitude|AltInd|barometric altitude",
    "altimeter_setting": "QNH|BARO|Altimeter Setting|Baro setting (inHg)",
    "outside_air_temperature": "OAT|Outside Air Temp|Außentemperatur|Temp extérieure|Static Air Temp|oat_c",
    "load_factor": "NormAc|nz|nz_g|VertAccel|G|VerticalG|normal acceleration|Lastvielfaches|Facteur de "
    "charge|Factor de carga",
    "lateral_load": "LatAc|ny|LateralG|lateral acceleration|accel_y",
    "engine_speed": "RPM|E1 RPM|Drehzahl|Régime|Motordrehzahl|engine rpm",
    "manifold_pressure": "MAP|E1 MAP|Manifold Pressure|Ladedruck|Pression d'admission",
    "flaps": "flaps|Flap Pos|Klappen|Klappenstellung|volets",
    "latitude": "lat|latitude|Breite|Latitud|gps_lat|Breitengrad|LAT (deg)",
    "longitude": "lon|lng|longitude|Länge|Laenge|Longitud|gps_lon|Längengrad",
    "velocity_north": "vn|vel_n|VelNorth|N Velocity|vn_ms|velocity north (m/s)",
    "velocity_east": "ve|vel_e|VelEast|Velocity E (m/s)",
    "wind_from": "wind dir|WndDr|Windrichtung|wind direction",
    "wind_speed": "wind speed|WndSpd|Windgeschwindigkeit|velocidad del viento",
    "magnetic_variation": "magvar|Mag Var|declination|Missweisung|Ortsmissweisung",
    "angle_of_attack": "AoA|alpha|Angle of Attack|Anstellwinkel",
    "roll_rate": "RollRate|roll rate (deg/s)|gyro_x",
    "yaw_rate": "YawRate|gyro z",
    "power": "% power|Percent Power|E1 %Pwr",
    "fuel_flow": "Fuel Flow (gph)|E1 FFlow|FF",
    "static_pressure": "PStatic|static pressure (hPa)|Presión estática",
    "height_above_ground": "AGL|height agl|Höhe über Grund",
}


CASES = [(channel, written) for channel, names in MEANT.items() for written in names.split("|")]


@pytest.mark.parametrize(("channel", "written"), CASES)
def test_a_name_is_understood(channel: str, written: str) -> None:
    found = meanings(read_name(written))
    assert found, f"{written!r}: {sorted(read_name(written).concepts)}"
    assert found[0][0] == channel


FOREIGN = (
    "Selected Heading|Heading Bug|Altitude Bug|Density Altitude|Nav Course|DTK|Cross track|Oil Temp|EGT1|"
    "CHT 3|Volts|"
    "Fuel Qty L|HDOP|GPS sats|Roll Sigma|Autopilot Pitch|FD Roll|Cabin altitude|Dest distance|imuTemp|"
    "Pitch Trim|Rudder|Serial"
)


@pytest.mark.parametrize("written", FOREIGN.split("|"))
def test_a_name_of_something_else_is_not_taken(written: str) -> None:
    assert not meanings(read_name(written))


@pytest.mark.parametrize(
    ("written", "cell", "kind", "scale"),
    [
        ("roll_rad", "", "angle", 1.0),
        ("Altitude (m)", "", "length", 1.0),
        ("IAS", "kt", "speed", 1852 / 3600),
        ("MP;InHg", "", "pressure", 3386.389),
        ("vel_n_cm/s", "", "speed", 0.01),
        ("roll_rate_deg_s", "", "angular_rate", np.pi / 180),
        ("Track", "deg true", "angle", np.pi / 180),
        ("Speed - mph", "", "speed", 0.44704),
    ],
)
def test_a_unit_is_found_in_the_name(written: str, cell: str, kind: str, scale: float) -> None:
    unit = read_name(written, cell).unit
    assert unit is not None
    assert unit.kind == kind
    assert unit.scale == pytest.approx(scale)
