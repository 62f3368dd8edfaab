"""What can be found wrong with rules: every kind of finding with its page, and a finding."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

Level = Literal["error", "warning"]


@dataclass(frozen=True)
class Kind:
    """A kind of finding: what it is, why it matters, an example, and how to put it right."""

    id: str
    level: Level
    title: str
    what: str
    why: str
    example: str
    fix: str


@dataclass(frozen=True)
class RuleFinding:
    """Something found, in a sentence, with its proof where it is one."""

    id: str
    rules: tuple[str, ...]
    file: str
    says: str
    proof: str = ""
    """The contradiction, or facts with which it happens."""
    settings: tuple[str, ...] | None = None
    """A brief with which it happens, as `--set` takes it: () for one that says nothing."""
    details: dict[str, str] = field(default_factory=dict)
    """Of a file that cannot be read: key, expected and nearest."""

    @property
    def kind(self) -> Kind:
        """What kind of finding it is."""
        return KINDS[self.id]

    @property
    def level(self) -> Level:
        """An error breaks a promise of the pack; a warning is worth a look."""
        return self.kind.level

    @property
    def data(self) -> dict[str, Any]:
        """The finding as JSON shows it."""
        return {
            "id": self.id,
            "level": self.level,
            "rules": list(self.rules),
            "file": self.file,
            "says": self.says,
            "proof": self.proof or None,
            "settings": None if self.settings is None else list(self.settings),
            **{name: self.details.get(name) for name in ("key", "expected", "nearest")},
        }


_ALL = (
    Kind(
        "cannot-be-read",
        "error",
        "A file cannot be read",
        "The file is no TOML, lacks a key, has one that nobody knows, or a value of the wrong kind.",
        "A pack with such a file is not loaded, or answers come without what it says.",
        'wieght = 1.0 in a goal: unknown key "wieght"; nearest: weight',
        "Correct the key that is named. What was expected and the nearest name stand beside it.",
    ),
    Kind(
        "does-not-fit",
        "error",
        "A name that nothing has, or a value that its field cannot take",
        "A field, metric, task, gear, steel or rule that is not there, text where a number belongs, or a test that "
        "does not suit its field.",
        "The rule could never mean what it says, so the pack is refused.",
        'has = "priyng" on brief.tasks; nearest: prying',
        "Take the nearest name, or add the table that is missing. rules list, tasks, gear and steels list the names.",
    ),
    Kind(
        "no-source",
        "error",
        "Published or seen, but no source named",
        'A basis of level "published", or known = "seen", without a citation.',
        "Readers are told how far a rule can be trusted; a source that nobody can look up is no source.",
        'basis = { level = "published", citation = "", known = "memory" }',
        'Name the source, or say level = "common practice" or "estimate", and known = "memory".',
    ),
    Kind(
        "estimate-decides",
        "warning",
        "An estimate without a source decides",
        "A goal of weight 4 or more, or a limit on a field of the blade or brief, that rests on an estimate and names "
        "no source.",
        "One such rule can settle an answer by itself, on nothing that could be checked. A limit on a metric is not "
        "meant: there a computed figure decides, and the answer marks it when it leans on estimates.",
        'a limit design.parent in ["flat", "convex"] for a task, level = "estimate"',
        "Name a source, give the goal a smaller weight, or let a metric say it instead of a name.",
    ),
    Kind(
        "example-fails",
        "error",
        "An example does not do what it says",
        "With the facts of the example the rule fires though it should not, or the other way round.",
        "Examples are how an author shows what a rule means; rule or example is wrong.",
        '{ facts = { "brief.tasks" = ["prying"] }, fires = true } in a rule for food-prep',
        "Correct whichever is wrong. A fact that is not given is unknown, and no rule fires on what is unknown.",
    ),
    Kind(
        "never-fires",
        "error",
        "A rule can never fire",
        "No facts fulfil its condition: its parts contradict each other, or ask for values outside the range of a "
        "field.",
        "It looks like knowledge and is none. Mostly a sign is turned round or a unit mistaken.",
        "all = [hardness_hrc > 62, hardness_hrc < 58]",
        "Turn the comparison round, mind the unit in the field's name, or write any where all was not meant.",
    ),
    Kind(
        "dead-alternative",
        "warning",
        "One of several alternatives can never hold",
        "In a list under any, one part contradicts itself or asks for values outside the range of a field.",
        "The rule fires for the others only, and its author believes that it covers this one too.",
        "any = [hardness_hrc > 75, tasks has prying]",
        "Correct that part, or take it out.",
    ),
    Kind(
        "nothing-passes",
        "error",
        "No blade passes limits that hold together",
        "Limits on the same thing whose bounds exclude each other hold for one brief, whatever the blade.",
        "Whoever asks that brief gets no answer.",
        "prying: edge angle at least 20° per side (40° included); fine slicing: at most 15° (30°); a brief with both",
        "Loosen one of them, let one hold only without the other's task, or make one a goal.",
    ),
    Kind(
        "limits-exclude",
        "warning",
        "Limits exclude each other for some blades",
        "Two limits on the same thing, one asking for more than the other allows, hold together for some blades.",
        "Those blades are shut out, and the answer blames bounds rather than the reason.",
        "hollow grinds: thickness at most 0.3 mm; thin stock: at least 0.5 mm; and a hollow on thin stock",
        "Where such blades should be shut out, say so in one limit; else let the conditions exclude each other.",
    ),
    Kind(
        "shuts-out-nothing",
        "warning",
        "A limit that nothing breaks",
        "Its bound lies beyond the range of the field.",
        "Its author believes that it keeps something from happening. Mostly a unit is mistaken, or a decimal point.",
        "a limit of at most 1.5 on design.grind_line_share, which is 0 to 1",
        "Mind the unit in the field's name. fields tells what it can be.",
    ),
    Kind(
        "implied",
        "warning",
        "A rule adds nothing, or counts twice",
        "Wherever it fires, another fires that does the same or more. A limit then shuts out nothing; a goal or lean "
        "of the same effect is counted twice.",
        "The next who changes one of them will wonder why nothing happens, or why too much does.",
        "a limit of at least 15° per side (30° included) for prying, beside one of 18° (36°) for every brief",
        "Take out the weaker, or let the general rule except what the special one says.",
    ),
    Kind(
        "duplicate",
        "warning",
        "Two rules are the same",
        "They fire on the same facts and do the same, under two ids.",
        "Goals and leans count twice, words are said twice.",
        "a rule copied to be changed, and never changed",
        "Keep one. A pack that means to replace a rule of another gives its own the same id.",
    ),
    Kind(
        "same-words",
        "warning",
        "Two rules say the same words",
        "Two cautions or pieces of advice have the same text.",
        "Where both fire, a reader is told twice.",
        "the same caution, once for each of two tasks",
        "Write one rule with any, or in = [...].",
    ),
    Kind(
        "unspoken",
        "warning",
        "Something in the tables that no rule speaks of",
        "A task without a goal of its own, a sharpening gear that no rule names, a skill or climate that no rule "
        "tells from others. What is assumed when nothing is said needs no rule.",
        "Whoever asks for it gets the answer that everybody gets.",
        "a new task whose table is there and whose goals are not yet written",
        "Write at least one goal for a task, and a caution or advice for a gear.",
    ),
    Kind(
        "out-of-reach",
        "warning",
        "No blade comes near a goal",
        "For a brief in which the goal speaks, no candidate gets a single point of it: its window lies beyond "
        "everything that can be made. Found by computing, with --deep only.",
        "Such a goal only takes weight from the others, and never tells two blades apart.",
        "cutting force from 0.5 to 0.1 N/mm, where the keenest blade needs 1.2",
        "Move the window to where blades are: life and recommend print the figures.",
    ),
    Kind(
        "leans-clipped",
        "warning",
        "Leans push against their cap",
        "Leans that can fire together add up to more than 12.5 points for or against, and are cut off there.",
        "Beyond the cap one opinion more or less makes no difference, and nobody is told.",
        "five leans of 3 points each for one grind, one task and one gear",
        "Make them smaller, or turn what matters most into a goal on a metric.",
    ),
    Kind(
        "turned-round",
        "error",
        "A window is turned round against its metric",
        "A goal goes from better to worse, as the metric's own declaration has it.",
        "It rewards the worse blade.",
        "cut_force from 0.5 to 1.5, where lower is better",
        "Swap from and to. metrics says which way is better.",
    ),
    Kind(
        "against-its-table",
        "warning",
        "One row runs the other way than its table",
        "Of three rows or more on a figure without a better side of its own, one alone wants it the other way.",
        "Mostly from and to are swapped, and the row rewards what its title speaks against.",
        "stiffness from 0.1 to 0.3, from 0.15 to 0.6, and from 14 to 2, in one table",
        "Swap from and to. Where the row means it, make it a rule of its own.",
    ),
    Kind(
        "pulls-apart",
        "warning",
        "Two rules pull opposite ways",
        "Two goals want one metric higher and lower for the same task, or two leans of opposite sign fire together.",
        "They cancel, and only their difference counts: nobody sees which opinion holds.",
        "stiffness from 0.1 to 0.5 and from 0.6 to 0.2, both for food-prep",
        "Keep the one that you mean, or make a window of both with a limit.",
    ),
    Kind(
        "near-copy",
        "warning",
        "Nearly the same, counted twice",
        "Two goals on one metric for one task with windows that hardly differ, or two leans on the same facts.",
        "The same thing counts twice, and neither weight says how much.",
        "cut_force from 1.5 to 0.5 beside one from 1.5 to 0.52",
        "Keep one. A pack that means to replace a rule gives its own the same id.",
    ),
    Kind(
        "moves-nothing",
        "warning",
        "A lean that is alike for every blade",
        "Its condition reads nothing of the blade: facts of the brief alone.",
        "It adds the same points to all, so that it tips nothing.",
        'tasks = ["prying"] and points = 3.0, and nothing else',
        "Name what the blade has to have: a design, metric or derived fact that differs from blade to blade.",
    ),
    Kind(
        "tells-nothing-apart",
        "warning",
        "A goal that is always full, or always empty",
        "What limits let through, or all blades that can be made, get all of it, none, or nearly alike. With --deep it "
        "is computed, in designed briefs for its tasks.",
        "It takes weight from the others and tells no two blades apart.",
        "a goal on stiffness from 0.2 to 0.4 beside a limit of at least 0.4",
        "Move the window to where blades differ.",
    ),
    Kind(
        "computed-nowhere",
        "warning",
        "A goal on a metric that is not computed for its task",
        "For a brief in which the goal speaks its metric has no meaning for any blade. Found with --deep.",
        "It never gives a point.",
        "split_depth for a task that splits nothing",
        "Take a metric that is computed for the task: figures of recommend --json lists them.",
    ),
    Kind(
        "no-answer",
        "error",
        "A task has no answer",
        "Asked for alone, with all else left open, nothing that can be made passes the limits. Found with --deep.",
        "Whoever asks for it gets nothing.",
        "a limit of at least 60 N/mm of stiffness for fish-filleting",
        "Loosen the limits that are named, or let them hold for fewer briefs.",
    ),
    Kind(
        "shuts-everything-out",
        "error",
        "A limit that no blade passes",
        "Under a brief in which it holds, the limit alone shuts out all that can be made. Of a limit on tasks these "
        "are most of the work, or all of it: below half it only costs points. Found with --deep.",
        "Whoever asks such a brief gets nothing, and in a mix of tasks the limit costs every blade the same.",
        "prying with stainless steel: a stiffness of at least 5000 N/mm, which no blade has",
        "Mind the unit of its bound, loosen it, or let a caution say that the steel or gear does not suit the task.",
    ),
    Kind(
        "no-reason",
        "error",
        "A rule that guards people is switched off without a reason",
        "switch_off names a rule with safety = true by its id alone.",
        "Somebody may be hurt for want of it; every answer says that it is off, and cannot say why.",
        'switch_off = ["prying-bears-moment"]',
        'Say why: switch_off = [{ id = "prying-bears-moment", because = "..." }].',
    ),
    Kind(
        "implausible",
        "warning",
        "A value that no blade has",
        "A bound, a weight or a number of a table far outside what steels, blades and tasks have in that unit.",
        "Mostly a slip of the pen or of the unit; it shuts out everything, or nothing.",
        "590 HRC; a depth of cut of 1500 mm; an edge of 0.02 mm",
        "Mind the unit in the name of the key.",
    ),
    Kind(
        "vague-source",
        "warning",
        "A source that cannot be found",
        "A published basis whose citation has no title, or no year and no number.",
        "A source that nobody can look up is no source.",
        'citation = "a book"',
        "Title and year, or the number of the standard or page.",
    ),
    Kind(
        "template-words",
        "warning",
        "Words or numbers of the template",
        "because or text is still what rules new wrote, or figure and numbers are those of its example.",
        "Customers read it, and blades are chosen by it.",
        'because = "One or two sentences that a customer can read."',
        "Say it in your own words, and take a figure and numbers of your own.",
    ),
    Kind(
        "same-title",
        "warning",
        "The same title twice",
        "Two rules have one title.",
        "Beside the points a reader cannot tell which is which.",
        'two goals called "Cuts easily"',
        "Give each row or rule a title of its own.",
    ),
    Kind(
        "contradicts",
        "warning",
        "Two texts say the opposite",
        "Two cautions or pieces of advice that can be said together differ in a never or a not.",
        "A reader is told both.",
        '"Never oil the blade" beside "Oil the blade"',
        "Keep the true one, or let them fire for different briefs.",
    ),
    Kind(
        "old-form",
        "warning",
        "A pack of one rule a file",
        "Its files hold one rule each, the form of 0.1.",
        "They are read until the next release but one, and not after.",
        "id, when and effect at the top of a file, without [[rule]]",
        "bevelwright rules convert FOLDER turns them into topics; what they say stays.",
    ),
    Kind(
        "no-usual-blade",
        "warning",
        "A task without a usual blade",
        "Its table has no [usual_blade]: goals for it cannot say of_usual and go by absolute windows.",
        "Where a coefficient is less sure than a window is wide, the goal tells no blades apart; a ratio does.",
        "a task of 0.1",
        "Add [usual_blade] to its table: grind, sizes, edge, steel and gear that the trade takes, each with its band.",
    ),
    Kind(
        "doubtful-usual-blade",
        "warning",
        "A usual blade that nobody has",
        "It cannot be made in a shop that has everything, or its steel is never as hard or as soft.",
        "Goals measure other blades by it.",
        "a full hollow of 6 mm stock, 20 mm high",
        "Put its sizes right, or take another grind or steel.",
    ),
)
KINDS = {kind.id: kind for kind in _ALL}
"""Every kind of finding by its id."""
