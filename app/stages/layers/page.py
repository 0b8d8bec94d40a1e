"""Layers: what each shape is for. Suggested with a reason; the maker has the last word."""

from dataclasses import replace

from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from app.qt.captions import caption, filled
from app.session.session import Session
from app.session.settings import Settings
from app.session.shop import Shop
from app.stages.layers.assign_buttons import AssignButtons
from app.stages.layers.rules_card import RulesCard
from app.stages.layers.shapes_table import ShapesTable
from app.stages.page import Page
from app.stages.putting import put_on_layer
from app.stages.stage import Stage
from app.widgets import messages
from app.widgets.fields import Card, LengthField, clear, small_button, words
from app.widgets.plain_text import plain_tip
from app.widgets.swatch import PurposeSwatch, colour_chip
from app.words.wording import PURPOSE_WORDS, area_text, count_text, length_text
from core.artwork.sorting.rules import PurposeRule, offered_rules
from core.job.decisions import alike, with_new_layer, without_layer
from core.job.job import Job, Layer, with_layer
from core.job.plan import LayerPlan, Plan
from core.purposes import LEAVE_OUT, UNDECIDED, Answer

MAX_QUESTIONS = 6
TABLE_PX = 200
GROWS = 100
"""How much of what a page leaves empty a card takes beside the rest of it."""


class LayersPage(Page):
    """Questions first, then the selected shapes, the layers, all shapes, and how shapes are told apart."""

    def __init__(self, session: Session, settings: Settings, shop: Shop, *, parent: QWidget) -> None:
        super().__init__(
            Stage.LAYERS,
            "What is cleared, cut, scored or only looked at. Select shapes on a face or in the list, then say.",
            session,
            settings,
            parent=parent,
        )
        self._asked_first = False
        self.layer_rows: dict[str, _LayerRow] = {}
        self._questions = Card("Needs your word")
        self._question_rows = QVBoxLayout()
        self._question_rows.setSpacing(12)
        self._questions.body.addLayout(self._question_rows)
        self.body.addWidget(self._questions)
        self.add_findings_card()
        self._white = self._white_card()
        self._white.setObjectName("white over dark")
        self.body.addWidget(self._white)
        self.body.addWidget(self._selected_card())
        self._rules = RulesCard(session, shop)
        self._rules.changed.connect(self._name_rules_door)
        layers = Card("Layers, and their colour in the exported file")
        self._layers = QVBoxLayout()
        self._layers.setSpacing(8)
        layers.body.addLayout(self._layers)
        self.body.addWidget(layers)
        self.body.addWidget(self._shapes_card(), GROWS)  # a tall window shows more of them
        doors = QVBoxLayout()
        doors.setSpacing(4)
        self.body.addLayout(doors)
        for title, card in (("Rules", self._rules), ("Lines and areas", self._options_card())):
            room, door = self.add_room(title)
            room.body.addWidget(card)
            room.end()
            doors.addWidget(door)
            if card is self._rules:
                self.rules_room, self._rules_door = room, door
        self.end_body(grows=True)
        session.selection_changed.connect(self._show_selected)

    # --- cards ---------------------------------------------------------------------------------------------------

    def _white_card(self) -> Card:
        card = Card("White paint over darker paint")
        card.body.addWidget(
            words("Some artwork uses white to say “keep the coat here”, some means paint like any other.")
        )
        keep = small_button("&Keep the coat there", "White: keep the coat there")
        keep.clicked.connect(lambda: self._choose_white(True))
        clear_it = small_button("&Clear it like any paint", "White: clear it like any paint")
        clear_it.clicked.connect(lambda: self._choose_white(False))
        card.line(keep, clear_it)
        return card

    def _selected_card(self) -> Card:
        card = Card()
        self._selected_title = words(role="heading")
        card.body.addWidget(self._selected_title)
        self._selected_why = words(role="quiet")
        card.body.addWidget(self._selected_why)
        self._assign = AssignButtons("the selected shapes")
        self._assign.assigned.connect(lambda layer_id: self._put(sorted(self.session.selection), layer_id))
        card.body.addWidget(self._assign)
        self._suggested = small_button("Back to suggested", tip="Ctrl+Backspace")
        self._suggested.clicked.connect(lambda: self._put(sorted(self.session.selection), None))
        self._alike = small_button("All that look like this", tip="Same source layer, fill and stroke (Ctrl+Shift+A)")
        self._alike.clicked.connect(self._select_alike)
        card.line(self._alike, self._suggested)
        self._new_fill = small_button("Put on a fill layer of their own", tip="For a recipe of their own")
        self._new_fill.clicked.connect(self._to_new_layer)
        card.body.addWidget(self._new_fill)
        self._keep_rule = small_button("Keep as a rule…", tip="What is so for these shapes, for others like them")
        self._keep_rule.clicked.connect(self._keep_as_rule)
        card.body.addWidget(self._keep_rule)
        return card

    def _shapes_card(self) -> Card:
        card = Card("All shapes")
        self._table = ShapesTable(self.session)
        self._table.setMinimumHeight(TABLE_PX)
        card.body.addWidget(self._table, GROWS)
        return card

    def _options_card(self) -> Card:
        card = Card()
        self._line_width = LengthField("Strokes up to this width are lines", low=0.0, high=100.0, step=0.05)
        self._line_width.entered.connect(self._choose_line_width)
        card.row(
            "Lines up &to", self._line_width, help_text="A stroke this wide or thinner is a line, a wider one an area"
        )
        card.body.addWidget(
            words(
                "A stroke this wide or thinner is cut or scored as a line; a wider one is filled as an area.",
                role="quiet",
            )
        )
        self.watch(self._line_width)
        return card

    # --- showing -------------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show questions, layers and shapes."""
        job, plan = self.session.job, self.session.plan
        self._show_questions(plan)
        asks_white = plan is not None and any(finding.code == "white-over-dark" for finding in plan.findings)
        self._white.setVisible(job.sorting.white_keeps is None and asks_white)
        self._show_layers(job, plan)
        self._table.show_plan(plan)
        self._line_width.show_value(job.sorting.line_width_mm)
        self._assign.show_layers(job.layers)
        self._rules.show_rules()
        self._name_rules_door()
        self._show_selected()
        undecided = plan is not None and UNDECIDED in plan.layer_of.values()
        self.show_findings_card()
        self.show_go_on(enabled=plan is not None and not undecided)
        self._tell_why_not(list(plan.layer_of.values()).count(UNDECIDED) if plan is not None else 0)

    def _tell_why_not(self, undecided: int) -> None:
        """Beside a button that leads nowhere yet: what is asked first."""
        if undecided and not self.note.text():
            count = count_text(undecided, "shape", "shapes")
            self.say(
                filled("{count} not decided yet: say at the top of this page what it is for.", count=count),
                role="quiet",
            )
            self._asked_first = True
        elif not undecided and self._asked_first:
            self.say("")
            self._asked_first = False

    def _show_questions(self, plan: Plan | None) -> None:
        clear(self._question_rows)
        groups = undecided_groups(plan) if plan is not None else []
        self._questions.setVisible(bool(groups))
        for why, shape_ids in groups[:MAX_QUESTIONS]:
            self._question_rows.addWidget(self._question(why, shape_ids))
        if len(groups) > MAX_QUESTIONS:
            more = words(
                filled("… and {groups} more kinds of shapes after these.", groups=len(groups) - MAX_QUESTIONS),
                role="quiet",
            )
            self._question_rows.addWidget(more)
        if groups:
            self.keep_tab_order()

    def _question(self, why: str, shape_ids: list[str]) -> QWidget:
        box = QWidget()
        column = QVBoxLayout(box)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        what = count_text(len(shape_ids), "shape", "shapes")
        column.addWidget(words(f"{what}: {why}"))
        show = small_button("Show", filled("Show the {what}", what=what), tip="Selects them on both faces")
        show.clicked.connect(lambda: self.session.select(shape_ids))
        buttons = AssignButtons(f"the {what} ({why})", extra=show)
        buttons.show_layers(self.session.job.layers)
        buttons.assigned.connect(lambda layer_id: self._put(shape_ids, layer_id))
        column.addWidget(buttons)
        return box

    def _show_layers(self, job: Job, plan: Plan | None) -> None:
        if list(self.layer_rows) != [layer.id for layer in job.layers]:
            clear(self._layers)
            self.layer_rows = {layer.id: _LayerRow(self, layer) for layer in job.layers}
            for card in self.layer_rows.values():
                self._layers.addWidget(card)
            self.keep_tab_order()
        planned = {one.layer.id: one for one in plan.layers} if plan is not None else {}
        for layer in job.layers:
            removable = sum(one.purpose == layer.purpose for one in job.layers) > 1
            self.layer_rows[layer.id].show_layer(layer, planned.get(layer.id), removable=removable)

    def _name_rules_door(self) -> None:
        """Say at the door what waits behind it."""
        offered = self._rules.offered_count
        self._rules_door.setText(
            filled("Rules: {offered} kept before would match", offered=offered) if offered else caption("Rules")
        )

    def _show_selected(self) -> None:
        plan, selection = self.session.plan, self.session.selection
        count = len(selection)
        self._selected_title.setText(
            filled("{count} selected", count=count_text(count, "shape", "shapes"))
            if count
            else caption("Nothing selected")
        )
        for widget in (self._assign, self._suggested, self._alike, self._new_fill, self._keep_rule):
            widget.setVisible(count > 0)
            widget.setEnabled(plan is not None)
        self._keep_rule.setEnabled(bool(self._offered_rules()))
        why = ""
        if plan is not None and count == 1:
            (chosen,) = selection
            item = next((one for one in plan.sorted if one.shape_id == chosen), None)
            names = {layer.id: layer.name for layer in self.session.job.layers} | {LEAVE_OUT: "Left out"}
            is_now = names.get(plan.layer_of.get(chosen, ""), "Undecided")
            label = next((shape.label for shape in plan.drawing.shapes if shape.id == chosen), "") or "1 shape selected"
            self._selected_title.setText(f"{label}: {is_now}")
            if item is not None:
                why = f"Suggested: {item.purpose}. {item.why}"
        elif not count:
            why = "Click a shape, draw a band around several, or pick them in the list below."
        self._selected_why.setText(why)
        self._selected_why.setVisible(bool(why))

    # --- deciding ------------------------------------------------------------------------------------------------

    def _put(self, shape_ids: list[str], layer_id: str | None) -> None:
        put_on_layer(self.session, shape_ids, layer_id)

    def _offered_rules(self) -> tuple[PurposeRule, ...]:
        """The rules that what is decided about the selected shapes could become."""
        plan, selection = self.session.plan, self.session.selection
        if plan is None or not selection:
            return ()
        purposes: dict[str, Answer] = {layer.id: layer.purpose for layer in self.session.job.layers}
        purposes[LEAVE_OUT] = LEAVE_OUT
        answers = {purposes.get(plan.layer_of.get(shape_id, "")) for shape_id in selection}
        answer = answers.pop() if len(answers) == 1 else None
        if answer is None:
            return ()
        return offered_rules([shape for shape in plan.drawing.shapes if shape.id in selection], answer)

    def _keep_as_rule(self) -> None:
        from app.dialogs.rules import KeepRuleDialog

        dialog = KeepRuleDialog(self, self._offered_rules())
        if messages.run(dialog):
            self._rules.keep(dialog.kept)

    def _select_alike(self) -> None:
        if self.session.plan is not None:
            self.session.select(alike(self.session.plan, self.session.selection))

    def _to_new_layer(self) -> None:
        chosen = sorted(self.session.selection)
        self.commit(lambda: with_new_layer(self.session.job, "fill", chosen), "New fill layer")

    def _choose_white(self, keeps: bool) -> None:
        sorting = replace(self.session.job.sorting, white_keeps=keeps)
        label = "White keeps the coat" if keeps else "White is cleared"
        self.session.commit(replace(self.session.job, sorting=sorting), label)

    def _choose_line_width(self, width_mm: float) -> None:
        sorting = replace(self.session.job.sorting, line_width_mm=width_mm)
        self.session.commit(replace(self.session.job, sorting=sorting), "Lines up to", merge_key="line width")

    def rename(self, layer: Layer, name: str) -> None:
        """Give a layer another name; an empty one is turned down."""
        name = name.strip()
        if not name:
            self.say("A layer needs a name.")
            self.touch()
        elif name != layer.name:
            self.commit(
                lambda: with_layer(self.session.job, replace(layer, name=name)),
                filled("Rename layer to {name}", name=name),
            )

    def recolour(self, layer: Layer) -> None:
        """Ask for another colour for a layer."""
        colour = messages.choose_colour(self, f"Colour of {layer.name} in the exported file", layer.colour)
        if colour is not None:
            self.commit(
                lambda: with_layer(self.session.job, replace(layer, colour=colour)),
                filled("Colour of {name}", name=layer.name),
            )

    def remove(self, layer: Layer) -> None:
        """Take a layer out; its shapes go back to what was suggested."""
        self.commit(lambda: without_layer(self.session.job, layer.id), filled("Remove layer {name}", name=layer.name))

    def select_all_of(self, layer_id: str) -> None:
        """Select all shapes of a layer."""
        plan = self.session.plan
        if plan is not None:
            self.session.select(shape for shape, layer in plan.layer_of.items() if layer == layer_id)


class _LayerRow(QWidget):
    """One layer: its sign, name, colour in the file, and how much is on it."""

    def __init__(self, page: LayersPage, layer: Layer) -> None:
        super().__init__()
        self._page, self._layer = page, layer
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        top = QHBoxLayout()
        top.setSpacing(8)
        self._swatch = PurposeSwatch(layer.purpose)
        top.addWidget(self._swatch)
        self._name = QLineEdit(layer.name)
        self._name.setMaxLength(60)
        self._name.editingFinished.connect(lambda: page.rename(self._layer, self._name.text()))
        top.addWidget(self._name, 1)
        self._colour = small_button("in file", tip="Its colour in the exported file; free to choose")
        self._colour.clicked.connect(lambda: page.recolour(self._layer))
        top.addWidget(self._colour)
        column.addLayout(top)
        bottom = QHBoxLayout()
        bottom.setSpacing(8)
        self._content = words(role="quiet")
        bottom.addWidget(self._content, 1)
        self._remove = small_button("Remove")
        self._remove.clicked.connect(lambda: page.remove(self._layer))
        self._select = small_button("Select")
        self._select.clicked.connect(lambda: page.select_all_of(self._layer.id))
        for button in (self._remove, self._select):
            button.setProperty("role", "plain")
            bottom.addWidget(button)
        column.addLayout(bottom)

    def show_layer(self, layer: Layer, planned: LayerPlan | None, *, removable: bool) -> None:
        """Show the layer as it now is."""
        self._layer = layer
        if not self._name.hasFocus() or not self._name.isModified():
            self._name.setText(layer.name)
        self._name.setAccessibleName(
            filled("Name of the {purpose} layer {name}", purpose=layer.purpose, name=layer.name)
        )
        self._colour.setAccessibleName(filled("Colour of {name}: {colour}", name=layer.name, colour=layer.colour))
        self._colour.setIcon(colour_chip(layer.colour))
        self._select.setAccessibleName(filled("Select all shapes on {name}", name=layer.name))
        self._remove.setAccessibleName(filled("Remove the layer {name}", name=layer.name))
        self._remove.setVisible(removable)
        count = len(planned.shape_ids) if planned is not None else 0
        self._select.setEnabled(count > 0)
        self._content.setText(_content_text(layer, planned, inches=self._page.inches))
        self._content.setToolTip(plain_tip(PURPOSE_WORDS[layer.purpose]))


def undecided_groups(plan: Plan) -> list[tuple[str, list[str]]]:
    """(question, shape ids) of what is undecided, shapes of one look together, in the drawing's order."""
    return [(question.text, list(question.shape_ids)) for question in plan.questions]


def _content_text(layer: Layer, planned: LayerPlan | None, *, inches: bool) -> str:
    purpose = layer.purpose.capitalize()
    if planned is None or not planned.shape_ids:
        return f"{purpose}: no shapes"
    count = count_text(len(planned.shape_ids), "shape", "shapes")
    if layer.purpose == "fill":
        return f"{purpose}: {count}, {area_text(planned.area_mm2, inches=inches)}"
    return f"{purpose}: {count}, {length_text(planned.length_mm, inches=inches)}"
