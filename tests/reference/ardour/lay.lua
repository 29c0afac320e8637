-- Lays each source on its track, from the start, without fades.
local session = load_session("@FOLDER@", "take")
local sources = {}
for _, region in pairs(ARDOUR.RegionFactory.regions():table()) do sources[region:name()] = region end
for route in session:get_routes():iter() do
  local source = sources[route:name()]
  if source then
    local region = ARDOUR.RegionFactory.clone_region(source, true, false)
    route:to_track():playlist():add_region(region, Temporal.timepos_t(0), 1, false)
    region:to_audioregion():set_fade_in_active(false)
    region:to_audioregion():set_fade_out_active(false)
  end
end
session:save_state("")
close_session()
quit()
