// Second opinion on kinematics and statics by the MuJoCo engine. In on standard
// input: {models: [{xml, cases: [{qpos, forces: [{body, point, vector}]}]}]}. Out:
// the same shape with, for each case, the generalised forces that hold it still
// (qfrc) and where each body stands (xpos).
import { readFileSync } from 'node:fs'
import load from 'mujoco-js'

const mj = await load()
mj.FS.mkdir('/models')
const { models } = JSON.parse(readFileSync(0, 'utf8'))
const out = models.map(({ xml, cases }, k) => {
  const file = `/models/${k}.xml`
  mj.FS.writeFile(file, xml)
  const m = mj.MjModel.loadFromXML(file)
  const d = new mj.MjData(m)
  const results = cases.map(({ qpos, forces }) => {
    for (let i = 0; i < m.nv; i++) { d.qpos[i] = qpos[i]; d.qvel[i] = 0 }
    for (let i = 0; i < 6 * m.nbody; i++) d.xfrc_applied[i] = 0
    mj.mj_forward(m, d) // sets xipos, where applied forces act
    for (const { body, point, vector } of forces) {
      const r = [0, 1, 2].map(i => point[i] - d.xipos[3 * body + i])
      const [a, b, c] = vector
      const wrench = [a, b, c, r[1] * c - r[2] * b, r[2] * a - r[0] * c, r[0] * b - r[1] * a]
      for (let i = 0; i < 6; i++) d.xfrc_applied[6 * body + i] += wrench[i]
    }
    mj.mj_forward(m, d)
    return { qfrc: Array.from(d.qfrc_smooth, x => -x), xpos: Array.from(d.xpos) }
  })
  d.delete()
  m.delete()
  return { cases: results }
})
process.stdout.write(JSON.stringify({ models: out }))
