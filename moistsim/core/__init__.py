"""Units, fields, errors, display and compilation: the common base of all other folders."""

from moistsim.core import units as units
