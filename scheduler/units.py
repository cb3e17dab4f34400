"""Conversion factors between US customary units and SI, each with its origin.

SI is used inside the package; only `inputs/` and `report/` convert.
"""

from __future__ import annotations

# Exact: international yard and pound agreement, 1959 (NIST SP 811, appendix B).
MM_PER_IN = 25.4
M_PER_FT = 0.3048
M_PER_MI = 1609.344
# Exact: square of the international foot.
M2_PER_FT2 = M_PER_FT**2
# Exact: a US gallon is 231 cubic inches (NIST Handbook 44, appendix C).
L_PER_GAL = 231 * (MM_PER_IN / 100) ** 3
# Exact: cube of the international foot, in liters.
L_PER_FT3 = (M_PER_FT * 10) ** 3
L_PER_M3 = 1000.0
# Exact: a milliliter is a cubic centimeter.
MM3_PER_ML = 1000.0
# Exact by definition: pound-force per square inch from the avoirdupois pound
# (0.45359237 kg), standard gravity (9.80665 m/s²) and the inch.
KPA_PER_PSI = 0.45359237 * 9.80665 / 0.0254**2 / 1000
KPA_PER_BAR = 100.0
# Exact: one mile, and one kilometer, in an hour.
M_S_PER_MPH = M_PER_MI / 3600
M_S_PER_KM_H = 1000 / 3600
# Exact: one watt for a day is 86,400 J.
MJ_M2_DAY_PER_W_M2 = 0.0864
# Exact: Fahrenheit scale, 32 °F at 0 °C and 1.8 °F to the degree Celsius.
F_PER_C = 1.8
F_AT_0_C = 32.0
# Exact: inches of water in a foot of soil, and mm in a meter, as a share.
IN_PER_FT = 12.0
MM_PER_M = 1000.0
CM_PER_M = 100.0
MIN_PER_H = 60.0
