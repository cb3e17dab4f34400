"""The verb `explain`: which zone is asked for."""

from cli_answers import replace


def test_explain_of_no_zone_names_the_nearest(run, site):
    replace(site, "zones.csv", "2,Beds", "Beds,Beds")
    ran = run("explain", site, "--zone", "bed", "--month", "7")

    assert ran.status == 2
    assert ran.out == ""
    assert ran.err == (
        'zones.csv: --zone: "bed" is not a zone\n'
        "  accepted: 1, Beds\n"
        "  hint: did you mean Beds?\n"
    )
