"""What is edited of a machine and of a stock: every figure, with where it comes from and how sure it is."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from PySide6.QtWidgets import QCheckBox, QGridLayout, QHBoxLayout, QLineEdit, QWidget

from app.dialogs.profile_rows import FigureRow, OriginEditors, add_row, today
from app.qt.captions import caption, filled
from app.widgets.fields import LengthField, small_button, words
from app.widgets.figure_fields import FigureField, figure_field, with_help
from app.widgets.plain_text import plain_label
from core.burning.beam import focused_spot_mm
from core.burning.bed_zones import zones_from, zones_text
from core.burning.machines import Machine
from core.burning.power_table import power_table_from, power_table_text
from core.burning.unknowns import figure_origin, with_figure
from core.errors import TainError
from core.figures import Figure, figures_for, figures_of
from core.job.cautions import STOCK_CAUTIONS
from core.sheet.recipes import Origin, Recipe
from core.sheet.stock import Stock
from core.shop_book.profile_editing import by_hand, with_origin

USUAL_BEAM_MM = 6.0


class ProfileForm(QWidget):
    """Editors of one machine or stock; ``value`` is how it now stands. ``changed`` and ``refused`` are told."""

    def __init__(
        self, value: Any, *, inches: bool, changed: Callable[[], None], refused: Callable[[str], None]
    ) -> None:
        super().__init__()
        self.value = value
        self._inches, self._changed, self._refused = inches, changed, refused
        self.grid = QGridLayout(self)
        self.grid.setContentsMargins(0, 0, 12, 0)
        self.grid.setHorizontalSpacing(8)
        self.grid.setVerticalSpacing(4)
        self.grid.setColumnStretch(1, 1)
        self.rows: dict[str, FigureRow] = {}
        for column, text in enumerate(("", "", "Where from", "Date", "±")):
            self.grid.addWidget(words(text, role="quiet"), 0, column)

    def take(self, value: Any) -> None:
        """Have another value, shown, and tell."""
        self.value = value
        self._refused("")
        self._changed()
        self.show_value()

    def show_value(self) -> None:
        """Show the value as it stands."""
        for name, row in self.rows.items():
            row.show_figure(getattr(self.value, name), figure_origin(self.value, name))

    def heading(self, text: str) -> None:
        """A heading across all columns."""
        row = self.grid.rowCount()
        self.grid.addWidget(words(text, role="heading"), row, 0, 1, 5)
        self.grid.setRowMinimumHeight(row, 36)

    def text_row(self, label: str, name: str) -> QLineEdit:
        """A line of text of the profile."""
        edit = QLineEdit(getattr(self.value, name))
        edit.setAccessibleName(label)
        edit.setMaxLength(200)
        edit.editingFinished.connect(lambda: self._text_entered(name, edit.text().strip()))
        name_label = plain_label(label)
        name_label.setBuddy(edit)
        row = self.grid.rowCount()
        self.grid.addWidget(name_label, row, 0)
        self.grid.addWidget(edit, row, 1, 1, 4)
        return edit

    def figure_row(self, figure: Figure) -> None:
        """A figure, whose value counts as set by hand today once it is changed."""
        self.rows[figure.name] = FigureRow(
            self.grid,
            figure,
            inches=self._inches,
            entered=lambda value: self._entered(figure.name, value),
            origin_changed=lambda origin: self.take(with_origin(self.value, figure.name, origin)),
            refused=self._refused,
        )

    def _entered(self, name: str, value: Any) -> None:
        if value != getattr(self.value, name):
            self.take(with_figure(self.value, name, value, Origin(kind="set by hand", date=today())))

    def _text_entered(self, name: str, text: str) -> None:
        if text != getattr(self.value, name):
            self.take(replace(self.value, **{name: text}))


class MachineForm(ProfileForm):
    """A machine."""

    def __init__(self, value: Machine, **told: Any) -> None:
        super().__init__(value, **told)
        self.text_row("Name", "name")
        for group, figures in _in_groups(value):
            self.heading(group)
            for figure in figures:
                self.figure_row(figure)
            if group == "Beam":
                self._add_optics()
                self._add_power_table()
            if group == "Bed":
                self._add_zones()
        self.grid.setRowStretch(self.grid.rowCount(), 1)
        self.show_value()

    def show_value(self) -> None:
        """Show the machine as it stands."""
        super().show_value()
        self.table.setText(power_table_text(self.value.power_table))
        self._table_origin.show_origin(figure_origin(self.value, "power_table"))
        self.zones.setText(zones_text(self.value.zones))

    def _add_optics(self) -> None:
        self.beam = LengthField("Beam at the lens", low=0.1, high=1000, step=0.5)
        self.beam.show_inches(self._inches)
        self.beam.show_value(USUAL_BEAM_MM)
        self.beam.setToolTip(caption("Diameter (1/e²) of the beam that enters the lens"))
        self.optics = small_button(
            "Spot from the optics", tip="From wavelength, focal length, beam quality and this; a measured one is better"
        )
        self.optics.clicked.connect(self._take_optics)
        row = self.grid.rowCount()
        add_row(self.grid, row, "Beam at the lens", self.beam)
        self.grid.addWidget(self.optics, row, 2, 1, 3)

    def _take_optics(self) -> None:
        machine: Machine = self.value
        spot_mm = focused_spot_mm(
            wavelength_um=machine.wavelength_um,
            focal_length_mm=machine.focal_length_mm,
            input_diameter_mm=self.beam.value(),
            beam_quality_m2=machine.beam_quality_m2,
        )
        note = filled(
            "from the optics: {wavelength_um:g} µm, lens of {focal_length_mm:g} mm, beam of "
            "{value:g} mm, M² {beam_quality_m2:g}",
            wavelength_um=machine.wavelength_um,
            focal_length_mm=machine.focal_length_mm,
            value=self.beam.value(),
            beam_quality_m2=machine.beam_quality_m2,
        )
        self.take(with_figure(machine, "spot_mm", spot_mm, Origin(kind="set by hand", date=today(), note=note)))

    def _add_power_table(self) -> None:
        self.table = QLineEdit()
        self.table.setAccessibleName(caption("Power table, percent = watts"))
        self.table.setPlaceholderText(caption("10 = 8.2, 50 = 43, 100 = 91"))
        self.table.setToolTip(caption("Percent = measured watts; empty: a straight line up to the rated power"))
        self.table.editingFinished.connect(self._table_entered)
        self._table_origin = OriginEditors(
            "power table", None, lambda origin: self.take(with_origin(self.value, "power_table", origin))
        )
        self._table_origin.refused = self._refused
        origin = self._table_origin
        add_row(self.grid, self.grid.rowCount(), "Power table", self.table, origin.kind, origin.date)

    def _add_zones(self) -> None:
        self.zones = QLineEdit()
        self.zones.setAccessibleName(caption("Clamps and guides of the bed, mm"))
        self.zones.setPlaceholderText(caption("clamp 0,0 30x15; guide 0,580 900x20"))
        self.zones.setToolTip(
            caption("Where nothing may be burned: what it is, its top left corner on the bed, its size, mm")
        )
        self.zones.editingFinished.connect(self._zones_entered)
        add_row(self.grid, self.grid.rowCount(), "Clamps and guides", self.zones)

    def _zones_entered(self) -> None:
        try:
            zones = zones_from(self.zones.text())
        except TainError as error:
            self.zones.setText(zones_text(self.value.zones))
            self._refused(str(error))
        else:
            if zones != self.value.zones:
                self.take(replace(self.value, zones=zones))

    def _table_entered(self) -> None:
        try:
            rows = power_table_from(self.table.text())
        except TainError as error:
            self.table.setText(power_table_text(self.value.power_table))
            self._refused(str(error))
        else:
            self._entered("power_table", rows)


class StockForm(ProfileForm):
    """A stock. Cautions are added, never taken away; a sheet that is refused stays refused."""

    def __init__(self, value: Stock, *, kept_codes: tuple[str, ...] = (), **told: Any) -> None:
        super().__init__(value, **told)
        self.text_row("Name", "name")
        self.text_row("Kind", "kind")
        self.text_row("Coat", "coat")
        for group, figures in _in_groups(value):
            self.heading(group)
            for figure in figures:
                self.figure_row(figure)
        self.recipes: dict[str, _RecipeRows] = {}
        for purpose, title in (("fill", "Fill recipe"), ("score", "Score recipe"), ("cut", "Cut recipe")):
            self.heading(title)
            if purpose == "cut":
                self._add_may_be_cut()
            self.recipes[purpose] = _RecipeRows(self, purpose)
        self._add_cautions(kept_codes)
        self.grid.setRowStretch(self.grid.rowCount(), 1)
        self.show_value()

    def show_value(self) -> None:
        """Show the stock as it stands."""
        super().show_value()
        for purpose, rows in self.recipes.items():
            rows.show_recipe(getattr(self.value, purpose))
        self.may_be_cut.setChecked(self.value.cut is not None)
        for code, box in self.cautions.items():
            box.setChecked(code in self.value.caution_codes)

    def _add_may_be_cut(self) -> None:
        self.may_be_cut = QCheckBox(caption("The laser may cut it"))
        self.may_be_cut.setEnabled("glass-not-cut" not in self.value.caution_codes and not self.value.refused)
        self.may_be_cut.clicked.connect(self._may_be_cut_clicked)
        self.grid.addWidget(self.may_be_cut, self.grid.rowCount(), 1, 1, 4)

    def _may_be_cut_clicked(self, on: bool) -> None:
        slow = replace(self.value.score, speed_mm_s=10.0, air="high")
        self.take(replace(self.value, cut=by_hand(slow, date=today()) if on else None))

    def _add_cautions(self, kept_codes: tuple[str, ...]) -> None:
        self.heading("Cautions at the hand-over")
        self.cautions: dict[str, QCheckBox] = {}
        for code, message in STOCK_CAUTIONS.items():
            if code == "paint-back-fill":
                continue
            box = QCheckBox()
            box.setAccessibleName(message)
            box.setEnabled(code not in kept_codes)
            box.clicked.connect(lambda on, code=code: self._caution_clicked(code, on))
            self.cautions[code] = box
            line = QHBoxLayout()
            line.addWidget(box)
            line.addWidget(words(message), 1)
            self.grid.addLayout(line, self.grid.rowCount(), 0, 1, 5)
        if self.value.refused:
            self.grid.addWidget(words(self.value.refused, role="refusal"), self.grid.rowCount(), 0, 1, 5)

    def _caution_clicked(self, code: str, on: bool) -> None:
        others = tuple(one for one in self.value.caution_codes if one != code)
        self.take(replace(self.value, caution_codes=(*others, code) if on else others))


class _RecipeRows:
    """The settings of one of a stock's recipes, with one origin for all of them."""

    def __init__(self, form: StockForm, purpose: str) -> None:
        self._form, self._purpose = form, purpose
        self.fields: dict[str, FigureField] = {}
        self._widgets: list[QWidget] = []
        for figure in figures_for(Recipe, purpose):
            self._add_figure(figure)
        self.origin = OriginEditors(f"the {purpose} recipe", None, self._origin_changed)
        self.origin.refused = form._refused
        self._add("Recipe from", self.origin.kind, self.origin.date)

    def show_recipe(self, recipe: Recipe | None) -> None:
        """Show the recipe without telling anyone; None hides the rows."""
        for widget in self._widgets:
            widget.setVisible(recipe is not None)
        if recipe is None:
            return
        for name, field in self.fields.items():
            field.show_value(getattr(recipe, name))
        self.origin.show_origin(recipe.origin)

    def _add_figure(self, figure: Figure) -> None:
        form, name = self._form, figure.name
        field = figure_field(
            figure,
            f"{figure.words} of the {self._purpose} recipe",
            entered=lambda value: self._change(name, value),
            refused=form._refused,
            inches=form._inches,
        )
        with_help(field, figure.about)
        self.fields[name] = field
        self._add(figure.words, field)

    def _add(self, label: str, *editors: QWidget) -> None:
        grid, row = self._form.grid, self._form.grid.rowCount()
        add_row(grid, row, label, *editors)
        item = grid.itemAtPosition(row, 0)
        name = item.widget() if item is not None else None
        self._widgets += [widget for widget in (name, *editors) if widget is not None]

    @property
    def _recipe(self) -> Recipe:
        recipe: Recipe = getattr(self._form.value, self._purpose)
        return recipe

    def _change(self, name: str, value: Any) -> None:
        if value != getattr(self._recipe, name):
            self._take(by_hand(replace(self._recipe, **{name: value}), date=today()))

    def _origin_changed(self, origin: Origin) -> None:
        self._take(replace(self._recipe, origin=origin))

    def _take(self, recipe: Recipe) -> None:
        self._form.take(replace(self._form.value, **{self._purpose: recipe}))


def _in_groups(value: Any) -> list[tuple[str, list[Figure]]]:
    """The figures under their headings, both in the order in which they are declared."""
    groups: dict[str, list[Figure]] = {}
    for figure in figures_of(type(value)):
        groups.setdefault(figure.group or "More", []).append(figure)
    return list(groups.items())
