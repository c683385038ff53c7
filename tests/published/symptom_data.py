"""Small published tables typed in as facts, each with its source."""

import numpy as np

# Births with Down syndrome by mother's age (rows) and birth order 1 to 5+ (columns), Michigan 1950-64;
# Fleiss 1981, Statistical Methods for Rates and Proportions, as in Fay & Feuer 1997, Stat Med 16:791, Table
# I.
DOWN_CASES = np.array(
    [
        [107, 25, 3, 1, 0],
        [141, 150, 71, 26, 8],
        [60, 110, 114, 64, 63],
        [40, 84, 103, 89, 112],
        [39, 82, 108, 137, 262],
        [25, 39, 75, 96, 295],
    ]
)
DOWN_BIRTHS = np.array(
    [
        [230061, 72202, 15050, 2293, 327],
        [329449, 326701, 175702, 68800, 30666],
        [114920, 208667, 207081, 132424, 123419],
        [39487, 83228, 117300, 98301, 149919],
        [14208, 28466, 45026, 46075, 104088],
        [3052, 5375, 8660, 9834, 34392],
    ]
)

# Deaths and population of US white males 1960 and 1940 by age; Selvin 2004, Statistical Analysis of
# Epidemiologic Data.
DEATHS_1960 = np.array([141, 926, 1253, 1080, 1869, 4891, 14956, 30888, 41725, 26501, 5928])
PEOPLE_1960 = np.array(
    [1784033, 7065148, 15658730, 10482916, 9939972, 10563872, 9114202, 6850263, 4702482, 1874619, 330915]
)
DEATHS_1940 = np.array([45, 201, 320, 670, 1126, 3160, 9723, 17935, 22179, 13461, 2238])
PEOPLE_1940 = np.array(
    [906897, 3794573, 10003544, 10629526, 9465330, 8249558, 7294330, 5022499, 2920220, 1019504, 142532]
)

# Tumours in 70 groups of rats; Tarone 1982, Biometrics 38:215, as in Gelman and others, Bayesian Data
# Analysis, ch. 5.
RATS = np.array(
    [
        tuple(map(int, pair.split("/")))
        for line in (
            "0/20 0/20 0/20 0/20 0/20 0/20 0/20 0/19 0/19 0/19 0/19 0/18 0/18 0/17 1/20 1/20 1/20 1/20 1/19",
            "1/19 1/18 1/18 2/25 2/24 2/23 2/20 2/20 2/20 2/20 2/20 2/20 1/10 5/49 2/19 5/46 3/27 2/17 7/49",
            "7/47 3/20 3/20 2/13 9/48 10/50 4/20 4/20 4/20 4/20 4/20 4/20 4/20 10/48 4/19 4/19 4/19 5/22",
            "11/46 12/49 5/20 5/20 6/23 5/19 6/22 6/20 6/20 6/20 16/52 15/47 15/46 9/24",
        )
        for pair in line.split()
    ]
)

# Montgomery, Introduction to Statistical Quality Control. Example 7.1: 30 samples of 50 cans; the same 30
# counts are the wafers of NIST/SEMATECH e-Handbook 6.3.3.2.
CANS = np.array(
    [
        12,
        15,
        8,
        10,
        4,
        7,
        16,
        9,
        14,
        10,
        5,
        6,
        17,
        12,
        22,
        8,
        10,
        5,
        13,
        11,
        20,
        18,
        24,
        15,
        9,
        12,
        7,
        13,
        9,
        6,
    ]
)
# Table 7.4: orders with errors, and orders.
ORDERS_BAD = np.array([12, 8, 6, 9, 10, 12, 11, 16, 10, 6, 20, 15, 9, 8, 6, 8, 10, 7, 5, 8, 5, 8, 10, 6, 9])
ORDERS = np.array(
    [
        100,
        80,
        80,
        100,
        110,
        110,
        100,
        100,
        90,
        90,
        110,
        120,
        120,
        120,
        110,
        80,
        80,
        80,
        90,
        100,
        100,
        100,
        100,
        90,
        90,
    ]
)
# Example 7.4: errors in 20 samples of 50 shipments.
SHIPMENT_ERRORS = np.array([2, 3, 8, 1, 1, 4, 1, 4, 5, 1, 8, 2, 4, 3, 4, 1, 8, 3, 7, 4])
# Example 7.5: defects in rolls of dyed cloth, and their size in 50 m^2.
CLOTH_DEFECTS = np.array([14, 12, 20, 11, 7, 10, 21, 16, 19, 23])
CLOTH_SIZE = np.array([10, 8, 13, 10, 9.5, 10, 12, 10.5, 12, 12.5])
# Example 7.3: nonconformities in 26 samples of 100 boards.
BOARDS = np.array(
    [21, 24, 16, 12, 15, 5, 28, 20, 31, 25, 20, 24, 16, 19, 10, 17, 13, 22, 18, 39, 30, 24, 16, 19, 17, 15]
)
# Chapter on time-weighted charts: 30 values, mean 10 and standard deviation 1 until the 20th, mean 11 after.
WEIGHTED_30 = np.array(
    [
        9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.20, 10.34, 9.03, 11.47, 10.51, 9.40, 10.08,
        9.37, 10.62, 10.31, 8.52, 10.84, 10.90, 9.33, 12.29, 11.50, 10.60, 11.08, 10.38, 11.62, 11.31, 10.52,
    ]
)  # fmt: skip

# NIST/SEMATECH e-Handbook 6.3.2.4 (EWMA) and 6.3.2.3 (CUSUM; the latter's data from memory).
NIST_EWMA = np.array(
    [
        52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6,
        52.4, 53.6, 52.1,
    ]
)  # fmt: skip
NIST_CUSUM = np.array(
    [
        324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625,
        325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
    ]
)  # fmt: skip
