"""Units, fields, errors and what compiles: everything that each other room stands on."""

from moistsim.core import units as units
