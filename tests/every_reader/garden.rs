//! The garden into which a damaged file is put.

use putby::input::Files;

/// A small garden with every file, sound as it stands.
pub(crate) const SOUND: [(&str, &str); 12] = [
    (
        "garden.toml",
        "as_of = \"2026-08-17\"\n[site]\nname = \"x\"\nlatitude_deg = 41.5\naltitude_ft = 850\n[frost]\nlast_spring = { 10 = \"05-14\", 50 = \"04-30\" }\nfirst_fall = \"10-11\"\n[frost.28]\nfirst_fall = \"10-25\"\n[climate]\nmin_f = [18, 20, 28, 38, 48, 57, 62, 61, 53, 42, 33, 24]\nmax_f = [33, 36, 46, 58, 69, 78, 82, 80, 73, 61, 49, 38]\n[household]\npeople = 4\n[kitchen]\nhours = { sat = 4, wed = 1.5 }\nclosed = [\"2026-08-15\", { from = \"2026-09-01\", until = \"2026-09-03\" }]\nextra = { \"2026-08-20\" = 3 }\nhands = [{ from = \"2026-08-01\", until = \"2026-08-31\", cooks = 2 }]\n[on_hand]\njars = 20\n[[away]]\nfrom = \"2026-07-01\"\nuntil = \"2026-07-10\"\npicked_by = \"neighbour\"\n[sowing]\nsow_days = [\"sat\"]\n[show]\nunits = \"us\"\n[measures]\nbowl = { okra = \"1.2 lb\" }\nbag = \"2 lb\"\n",
    ),
    (
        "plantings.csv",
        "planting,bed,crop,variety,sown,set_out,row_ft,area_sqft,plants,cleared,note\nbeans,North,bush bean,,2026-05-20,,10,,,2026-09-20,\nkale,South,kale,curly,2026-06-01,2026-07-05,,12,,,\"a, b\"\n,South,okra,,2026-05-25,,,,6,,\n",
    ),
    (
        "beds.csv",
        "bed,length_ft,width_ft,protection,from,until\nNorth,20,4,,,\nSouth,20,4,low_tunnel,2026-10-01,2026-12-01\n",
    ),
    (
        "crops.csv",
        "crop,days_sown,units,shape\nkale,62,bunch=0.6 lb,50; 50\n",
    ),
    ("methods.csv", "method,setup_min\nfreeze raw,7\n"),
    (
        "products.csv",
        "product,method,crops,container,container_qt,lb_per_container\n+our mix,freeze raw,kale 0-1; okra 0-1,quart bag,1,2\n",
    ),
    (
        "needs.csv",
        "food,amount_per_week,unit,from,until\nkale,2,bunch,06-01,11-30\nroots,1 1/2,lb,,\n",
    ),
    (
        "goals.csv",
        "product,containers,by,eat_per_week\nfrozen beans | canned beans,12,2026-11-01,1\nrefrigerator pickled beans,,,0.5\n",
    ),
    (
        "picked.csv",
        "date,bed,crop,planting,amount,unit,guess,use,note\n2026-08-01,North,bush bean,beans,2.5,lb,yes,fresh,\n2026-08-03,,okra,,1,bowl,,,week of 2026-08-03\n",
    ),
    (
        "stores.csv",
        "date,product,change\n2026-08-02,frozen beans,3\n2026-08-09,frozen beans,-1/2\n",
    ),
    (
        "events.csv",
        "date,what,planting,value\n2026-10-01,frost,,29 F\n2026-08-20,ended,beans,\n2026-06-01,up,beans,\n2026-08-08,took,,95\n",
    ),
    (
        "weather.csv",
        "date,tmin_c,tmax_c\n2026-01-30,-5,1\n2026-01-31,,2.5\n",
    ),
];

/// Settings of a garden of which only one file is looked at.
pub(crate) const SMALL: &str = "[site]\nlatitude_deg = 41.5\n[frost]\nfirst_fall = \"10-11\"\n";

fn of(files: &[(&str, &str)]) -> Files {
    Files {
        name: "x".to_owned(),
        content: files
            .iter()
            .map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec()))
            .collect(),
        ..Files::default()
    }
}

/// Returns the sound garden's files.
pub(crate) fn garden() -> Files {
    of(&SOUND)
}

/// Returns the sound garden's files with other bytes in one of them.
pub(crate) fn with(name: &str, bytes: &[u8]) -> Files {
    let mut files = garden();
    files.content.insert(name.to_owned(), bytes.to_vec());
    files
}

/// Returns them without the household's own tables unless the file is one of those: what is usual is read once for all.
pub(crate) fn plainly_with(name: &str, bytes: &[u8]) -> Files {
    let mut files = with(name, bytes);
    let own = ["crops.csv", "methods.csv", "products.csv"];
    if !own.contains(&name) {
        own.iter().for_each(|own| drop(files.content.remove(*own)));
    }
    files
}

/// Returns the files of a garden of one planting.
pub(crate) fn small() -> Files {
    of(&[
        ("garden.toml", SMALL),
        (
            "plantings.csv",
            "planting,bed,crop,sown,row_ft\nbeans,North,bush bean,2026-05-20,10\n",
        ),
    ])
}
