-- A session: two overheads on a bus with the plugin, the snare sent to its side chain.
local session = create_session("@FOLDER@", "take", @RATE@)
local last = ARDOUR.PresentationInfo.max_order
local flags = ARDOUR.PresentationInfo.Flag.AudioBus

local tracks = {}
for _, name in ipairs({"first", "second", "snare"}) do
  session:new_audio_track(1, 1, nil, 1, name, last, ARDOUR.TrackMode.Normal, true)
end
for route in session:get_routes():iter() do tracks[route:name()] = route end
local bus
for route in session:new_audio_route(2, 2, nil, 1, "bus", flags, last):iter() do bus = route end

local plugin = ARDOUR.LuaAPI.new_plugin(session, "Plumbline", ARDOUR.PluginType.VST3, "")
if plugin:isnil() then os.exit(3) end
bus:add_processor_by_index(plugin, 0, nil, true)
bus:add_sidechain(plugin)

for channel, name in ipairs({"first", "second"}) do
  local out = tracks[name]:output()
  out:disconnect_all(nil)
  out:nth(0):connect(bus:input():nth(channel - 1):name())
end

-- The snare is heard through the send alone.
tracks.snare:output():disconnect_all(nil)
local send = ARDOUR.LuaAPI.new_send(session, tracks.snare, tracks.snare:amp()):to_ioprocessor():output()
send:disconnect_all(nil)
local side = plugin:to_insert():sidechain_input()
for channel = 0, side:n_ports():n_audio() - 1 do send:nth(0):connect(side:nth(channel):name()) end

session:save_state("")
close_session()
quit()
