"""How many syllables the words have that athletes read: a list typed in, not a rule.

Counts after the CMU Pronouncing Dictionary (Carnegie Mellon University; data as packaged in
release 1.1.3, looked up on 2026-11-25); the words in ALOUD were counted aloud and not looked
up in it.
Where it has two ways to say a word, both counts stand. A new word has to be added here.
"""

from typing import Final

ONCE: Final = {
    1: """
        a an and arch are arm arms as ask at back ball be beat bend both bounce bounds brake
        breaks bridge bring build but by calf came can can't change chase check chest chop clean
        clear cleared coach comes crossed did do does door dot down drill drills drive drop each
        else fair far fast feel feels feet few film filmed firm first fit flat fold foot for
        force forced frame from front full gaps get gets go goes good ground guess hands hangs
        has have head heels height high hill hip hips holds hops how hurt hurts if in is it its
        joint just keep knee knees land lane late lead leads leans leave leaves left leg legs
        let lift light like line lines long look loose loud low m march may means more most near
        needs new no not now of off on once one or out own pace pain path please point post
        press print pulls push quite rails rear rest ride right rise roll run runs s sake says
        see seen send set sharp shin short show shows
        side sides skip skips slow snap so soft soon sore
        speed stack stamp start starts stay step steps stiff still stop straight strain strides
        strong style swings takes tall tape tapped task tell than that the their them then there
        thing things think this those through tight time to told too track try turn turns twist
        twists two up ups waist wait walk wall warm way we well were what when which while will
        with you your
    """,
    2: """
        about above action after again against ahead almost along ankle any apart around away
        backward balloon before begin begins behind bending beside between bringing carry
        changing clawing coaching contact degrees delete distance doctor doing downward dropping
        during early easy elbow facing falling farther filming finish finished floating flying
        folded follow follows forward fully gentle gently graded growing hamstring higher hurdle
        improve instead into itself keeping landing landings later leading leaning leaving
        letting lifting little longer lower mainly many marking middle mini moment moments
        moving never newly nothing notice often only open other over painful picture pictures
        pogo posture purpose pushing question railway rather reaching ready really relaxed
        result rhythm rising running seated sending settle shoulder shoulders sideways simply
        sinking sitting slightly smoothly standing starting staying sudden swinging tendon
        thinking today touchdown training travel treatment trouble turning under until upright
        very walking whether widely
    """,
    3: """
        achilles anything beginning carrying completely direction directly earlier easier
        everyone everything following imagine improving injury medical medicine opening overhead
        physio releasing together underneath unsteady whenever
    """,
    4: """
        noticeably ordinary podiatrist
    """,
    5: """
        immediately
    """,
}
EITHER: Final = {
    (1, 2): """
        spring tired us
    """,
    (2, 3): """
        camera cycling different every family natural travelling
    """,
}
_ALOUD: Final = {
    1: """
        square was could here frames tells sure past race yet should fine close give next mark per
        asked bends brakes changed come cross days eight end fall find five form gap gone grass
        grown hang heel hold hop jog joined lands last lean less lie lost lot make meet pass put
        quick rail room sent since sit slack small spot stand stays string swing take they thigh
        third toes wide work
    """,
    2: """
        ankling surely something clearly chosen measured always telling beyond second working
        showing passes feeling alike better bounces coming compact effort even faster level
        markers measure practise pulling pushes riding rises session shortest simple softer
        sooner springy stacking steady taller tiny
    """,
    3: "probably continue idea already finishes",
    4: "recovery",
}
ALOUD: Final = {word: n for n, words in _ALOUD.items() for word in words.split()}

COUNTS: Final[dict[str, tuple[int, int]]] = {
    **{word: (n, n) for n, words in ONCE.items() for word in words.split()},
    **{word: least_most for least_most, words in EITHER.items() for word in words.split()},
    **{word: (n, n) for word, n in ALOUD.items()},
}
"""Word -> fewest and most syllables."""
