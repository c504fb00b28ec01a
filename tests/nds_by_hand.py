"""The stability factors of the NDS (2015/2018) written out in plain floats, to hold the checks against."""

import math


def cp(fc_star, e_min, slenderness):
    """CP of sawn lumber (eq. 3.7-1)."""
    a = 0.822 * e_min / slenderness**2 / fc_star
    half = (1 + a) / 1.6
    return half - math.sqrt(half**2 - a / 0.8)


def cl(fb_star, e_min, l_u, depth, breadth):
    """CL of a member under loads that aren't in the table (3.3.3, Table 3.3.3 footnote 1)."""
    l_e = 2.06 * l_u if l_u / depth < 7 else 1.63 * l_u + 3 * depth if l_u / depth <= 14.3 else 1.84 * l_u
    a = 1.2 * e_min / (l_e * depth / breadth**2) / fb_star
    half = (1 + a) / 1.9
    return half - math.sqrt(half**2 - a / 0.95)
