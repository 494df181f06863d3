"""Every quantity of the beds, reckoned once."""

from functools import cached_property

from waterbudget.simulate.day_books import DayBooks, Part
from waterbudget.units import Array, BoolArray

THIRSTY_KS = 1.0 - 1e-9  # a planted bed below it is thirsty


class BedPages(Part):
    """Root zones [mm]."""

    def __init__(self, days: DayBooks) -> None:
        super().__init__(days)
        course = days.course
        self.planted, self.kcb, self.rain_mm = course.planted, course.kc, course.rain_mm
        self.taw_mm, self.raw_mm = course.taw_mm, course.raw_mm

    def _booked(self, name: str) -> Array:
        return self.days.stacked([getattr(book.beds, name) for book in self.days.books])

    @cached_property
    def ke(self) -> Array:
        """Evaporation coefficient; 0 with a single crop coefficient."""
        return self._booked("ke") if self.days.structure.dual else self.kcb * 0.0

    @cached_property
    def kc(self) -> Array:
        """Crop coefficient, single or Kcb + Ke."""
        return self.kcb + self.ke

    @cached_property
    def etc_mm(self) -> Array:
        """Crop evapotranspiration without stress."""
        return self.kc * self.days.course.e0_mm

    @cached_property
    def ks(self) -> Array:
        """Water stress coefficient."""
        return self._booked("ks")

    @cached_property
    def eta_mm(self) -> Array:
        """Evapotranspiration as it was."""
        return self._booked("eta_mm")

    @cached_property
    def planted_etc_mm(self) -> Array:
        """Crop evapotranspiration without stress while something is planted."""
        return self.etc_mm * self.planted

    @cached_property
    def lack_mm(self) -> Array:
        """What a planted bed lacked of it."""
        return (self.etc_mm - self.eta_mm) * self.planted

    @cached_property
    def e_mm(self) -> Array:
        """Part of it that evaporated from the surface; 0 with a single crop coefficient."""
        return self._booked("e_mm") if self.days.structure.dual else self.kcb * 0.0

    @cached_property
    def de_mm(self) -> Array:
        """Depletion of the top layer in the evening; 0 with a single crop coefficient."""
        return self._booked("de_mm") if self.days.structure.dual else self.kcb * 0.0

    @cached_property
    def irrigation_mm(self) -> Array:
        """What reached the bed of its zone's water."""
        return self._booked("irrigation_mm")

    @cached_property
    def drained_mm(self) -> Array:
        """Past the roots."""
        return self._booked("drained_mm")

    @cached_property
    def overwatered_mm(self) -> Array:
        """Drained on a day of watering, as far as that brought it."""
        return self.days.xp.minimum(self.drained_mm, self.irrigation_mm)

    @cached_property
    def subsoil_mm(self) -> Array:
        """Taken over as plantings come and go."""
        eve_mm = self._booked("eve_mm")
        return eve_mm - eve_mm * self.days.course.handed_over

    @cached_property
    def depletion_mm(self) -> Array:
        """In the evening."""
        return self._booked("depletion_mm")

    @cached_property
    def is_thirsty(self) -> BoolArray:
        """Whether a planted bed was under stress."""
        return (self.ks < THIRSTY_KS) & self.planted
