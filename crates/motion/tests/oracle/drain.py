"""Two columns on two lines, a third line that rises to a free inlet, and one drain where they meet:
rigid columns by a classic Runge-Kutta scheme. The system is fixtures/review/clean/site.yaml."""
import math
g=9.80665; D=.1036; A=math.pi*D*D/4; nu=1.3063e-6; eps=1.5e-6
def f(V):
    Re=abs(V)*D/nu
    if Re<1: return 64.
    if Re<2000: return 64/Re
    x=8.
    for _ in range(50): x=-2*math.log10(eps/D/3.7+2.51*x/Re)
    return 1/x/x
def loss(V,L,K): return (f(V)*L/D+K)*V*abs(V)/2/g
def run(dbore,until=40.,dt=2e-3,out=98.5,kd=.7,nu_=None):
    a=math.pi*dbore**2/4
    L12=12.; K12=.75+.40; K3=2*.75
    # y (level in D1=D2), V12 (towards P1), V3 (towards P1 in L3, i.e. back), s void from the tank
    def z3(s): # level of surface in L3, s from tank: riser 3.1 m length for 3.1 m, then 10 m for .1
        return 102.-s if s<3.1 else 98.9-(s-3.1)/10*.1
    def der(st):
        y,V1,V3,s=st
        Q=2*V1*A+V3*A
        H=out+(1+kd)/2/g*(Q/a)*abs(Q/a)
        l=max(y-99.,0)
        c=K12
        d1=g*(y-H-loss(V1,L12+l,c))/(L12+l)
        w=13.1-s
        d3=g*(z3(s)-H-loss(V3,w,K3*w/13.1))/w
        return [-V1,d1,d3,V3]
    st=[102.,0.,0.,0.]; t=0; best=(0,0); b1=(0,0); left=[]
    while t<until and st[0]>99.01 and st[3]<13:
        k1=der(st);k2=der([x+dt/2*k for x,k in zip(st,k1)]);k3=der([x+dt/2*k for x,k in zip(st,k2)]);k4=der([x+dt*k for x,k in zip(st,k3)])
        st=[x+dt/6*(a_+2*b+2*c+d) for x,a_,b,c,d in zip(st,k1,k2,k3,k4)]; t+=dt
        if st[2]>best[0]: best=(st[2],t)
        if st[1]>b1[0]: b1=(st[1],t)
    return best,b1,t,st
KB45=.40

if __name__ == "__main__":
    for bore in (.080, .050, .00635):
        (v3, at3), (v1, at1), _, _ = run(bore, until=20.)
        print(f"{bore*1e3} mm: L1 {v1:.7f} m/s at {at1:.2f} s, L3 {v3:.7f} m/s at {at3:.2f} s")
