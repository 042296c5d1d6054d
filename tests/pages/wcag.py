"""The criteria of WCAG 2.2 at levels A and AA, all of them, each with the tests that cover it or with what was looked at by hand.

A test is named as file::function; test_wcag checks that it is there. "axe" stands for the rules of axe-core over every page at three
sizes. What no test can decide says what was looked at, and when: again after every change of that page.
"""

from __future__ import annotations

AXE = "test_accessible_browser::test_axe_complains_of_no_page"
NONE = "nothing of the kind is on any page: "
HAND = "by hand, 2026-11-26: "

CRITERIA: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "1.1.1": ("A", "Non-text Content", (AXE, "test_wcag::test_every_picture_has_words_or_is_decoration")),
    "1.2.1": ("A", "Audio-only and Video-only", (NONE + "no recordings",)),
    "1.2.2": ("A", "Captions (Prerecorded)", (NONE + "no recordings",)),
    "1.2.3": ("A", "Audio Description or Media Alternative", (NONE + "no recordings",)),
    "1.2.4": ("AA", "Captions (Live)", (NONE + "the camera's picture is the reader's own and has no sound",)),
    "1.2.5": ("AA", "Audio Description", (NONE + "no recordings",)),
    "1.3.1": ("A", "Info and Relationships", (AXE, "test_parts_forms::test_a_field_ties_label_unit_help_and_error_to_its_control")),
    "1.3.2": ("A", "Meaningful Sequence", ("test_wcag_browser::test_keys_alone_reach_everything_in_order_and_see_where_they_are",)),
    "1.3.3": ("A", "Sensory Characteristics", (HAND + "no sentence points by shape, colour or side alone",)),
    "1.3.4": ("AA", "Orientation", ("test_wcag::test_no_page_and_no_installed_page_asks_for_one_orientation",)),
    "1.3.5": ("AA", "Identify Input Purpose", ("test_wcag::test_signing_in_is_for_a_password_manager_and_no_puzzle",)),
    "1.4.1": ("A", "Use of Color", ("test_wcag_browser::test_forced_colours_and_grey_leave_every_status_its_word_and_its_shape",)),
    "1.4.2": ("A", "Audio Control", ("test_scan_browser::test_sounds_are_switched_off_for_this_browser_and_stay_off",)),
    "1.4.3": ("AA", "Contrast (Minimum)", (AXE, "test_tokens::test_text_and_links_reach_seven_to_one_on_every_ground")),
    "1.4.4": ("AA", "Resize Text", ("test_wcag_browser::test_a_narrow_window_and_wide_text_lose_nothing",)),
    "1.4.5": ("AA", "Images of Text", (NONE + "text is text; labels are pictures of what is printed, with the same in words",)),
    "1.4.10": ("AA", "Reflow", ("test_wcag_browser::test_a_narrow_window_and_wide_text_lose_nothing",)),
    "1.4.11": ("AA", "Non-text Contrast", ("test_tokens::test_borders_of_controls_and_the_focus_ring_reach_three_to_one",)),
    "1.4.12": ("AA", "Text Spacing", ("test_wcag_browser::test_a_narrow_window_and_wide_text_lose_nothing",)),
    "1.4.13": ("AA", "Content on Hover or Focus", ("test_wcag::test_nothing_appears_only_under_the_pointer",)),
    "2.1.1": ("A", "Keyboard", ("test_wcag_browser::test_keys_alone_reach_everything_in_order_and_see_where_they_are",)),
    "2.1.2": (
        "A",
        "No Keyboard Trap",
        (
            "test_wcag_browser::test_keys_alone_reach_everything_in_order_and_see_where_they_are",
            "test_parts_browser::test_the_question_starts_on_leaving_it_and_escape_leaves_it_too",
        ),
    ),
    "2.1.4": ("A", "Character Key Shortcuts", ("test_wcag_browser::test_no_single_letter_is_a_command",)),
    "2.2.1": ("A", "Timing Adjustable", ("test_logs_pages::test_a_page_that_comes_anew_by_itself_can_be_made_to_stand_still",)),
    "2.2.2": ("A", "Pause, Stop, Hide", ("test_logs_pages::test_a_page_that_comes_anew_by_itself_can_be_made_to_stand_still",)),
    "2.3.1": ("A", "Three Flashes or Below Threshold", ("test_wcag::test_nothing_moves_or_flashes",)),
    "2.4.1": ("A", "Bypass Blocks", (AXE, "test_wcag_browser::test_the_first_key_skips_to_the_content")),
    "2.4.2": (
        "A",
        "Page Titled",
        ("test_every_page::test_every_named_page_has_one_heading_a_title_and_the_frame_and_asks_no_more_of_a_larger_shop",),
    ),
    "2.4.3": ("A", "Focus Order", ("test_wcag_browser::test_keys_alone_reach_everything_in_order_and_see_where_they_are",)),
    "2.4.4": ("A", "Link Purpose (In Context)", (AXE,)),
    "2.4.5": (
        "AA",
        "Multiple Ways",
        ("test_accessible_browser::test_axe_complains_of_no_page", "test_find::test_part_of_a_name_lists_what_has_it"),
    ),
    "2.4.6": ("AA", "Headings and Labels", (AXE, HAND + "headings and labels say what follows")),
    "2.4.7": ("AA", "Focus Visible", ("test_wcag_browser::test_keys_alone_reach_everything_in_order_and_see_where_they_are",)),
    "2.4.11": (
        "AA",
        "Focus Not Obscured (Minimum)",
        ("test_wcag_browser::test_keys_alone_reach_everything_in_order_and_see_where_they_are",),
    ),
    "2.5.1": ("A", "Pointer Gestures", (NONE + "one press does everything; pictures scroll by the browser's own means",)),
    "2.5.2": ("A", "Pointer Cancellation", ("test_wcag::test_nothing_happens_on_the_way_down",)),
    "2.5.3": ("A", "Label in Name", ("test_wcag_browser::test_what_is_written_on_a_control_is_in_its_name",)),
    "2.5.4": ("A", "Motion Actuation", (NONE + "nothing listens to how a device is moved",)),
    "2.5.7": ("AA", "Dragging Movements", ("test_wcag::test_nothing_happens_on_the_way_down",)),
    "2.5.8": (
        "AA",
        "Target Size (Minimum)",
        (AXE, "test_shelf_browser::test_no_page_is_wider_than_the_screen_and_every_button_is_large_enough"),
    ),
    "3.1.1": ("A", "Language of Page", (AXE,)),
    "3.1.2": ("AA", "Language of Parts", (HAND + "pages are in one language; names of materials and marks are names",)),
    "3.2.1": ("A", "On Focus", ("test_wcag_browser::test_keys_alone_reach_everything_in_order_and_see_where_they_are",)),
    "3.2.2": ("A", "On Input", ("test_wcag::test_choosing_something_sends_nothing",)),
    "3.2.3": (
        "AA",
        "Consistent Navigation",
        ("test_every_page::test_every_named_page_has_one_heading_a_title_and_the_frame_and_asks_no_more_of_a_larger_shop",),
    ),
    "3.2.4": ("AA", "Consistent Identification", (HAND + "one part of the page library for each thing: see templatetags/selvedge",)),
    "3.2.6": ("A", "Consistent Help", (NONE + "no page offers a way to ask somebody",)),
    "3.3.1": (
        "A",
        "Error Identification",
        ("test_wcag::test_what_is_wrong_is_named_at_its_field_with_what_to_do_and_nothing_typed_is_lost",),
    ),
    "3.3.2": ("A", "Labels or Instructions", (AXE,)),
    "3.3.3": ("AA", "Error Suggestion", ("test_wcag::test_what_is_wrong_is_named_at_its_field_with_what_to_do_and_nothing_typed_is_lost",)),
    "3.3.4": (
        "AA",
        "Error Prevention (Legal, Financial, Data)",
        (
            "test_records::test_quality_voids_a_record_from_its_page_once_with_a_reason",
            "test_scan_browser::test_a_scanner_never_answers_the_question_before_something_ends",
        ),
    ),
    "3.3.7": ("A", "Redundant Entry", ("test_wcag::test_what_is_wrong_is_named_at_its_field_with_what_to_do_and_nothing_typed_is_lost",)),
    "3.3.8": ("AA", "Accessible Authentication (Minimum)", ("test_wcag::test_signing_in_is_for_a_password_manager_and_no_puzzle",)),
    "4.1.2": ("A", "Name, Role, Value", (AXE,)),
    "4.1.3": ("AA", "Status Messages", ("test_wcag::test_what_happened_is_announced_without_taking_the_focus",)),
}
"""Number → level, name, what covers it. (4.1.1 is gone from 2.2.)
Source: the Recommendation's own list, remembered; test_wcag counts it."""

BEYOND: dict[str, tuple[str, tuple[str, ...]]] = {
    "1.4.6 (AAA)": ("7:1 for text", ("test_tokens::test_text_and_links_reach_seven_to_one_on_every_ground",)),
    "2.3.3 (AAA)": ("Reduced motion", ("test_wcag::test_nothing_moves_or_flashes",)),
    "2.4.13 (AAA)": ("Focus Appearance", ("test_tokens::test_borders_of_controls_and_the_focus_ring_reach_three_to_one",)),
    "dark": ("Both schemes", ("test_wcag_browser::test_the_dark_scheme_keeps_its_contrast",)),
}
"""What is kept to although A and AA do not ask for it."""
